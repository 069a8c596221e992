"""YAML: nothing in it can run, blow up, or end in a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.errors import BadValue
from trainer.files.library import find_drill, list_demo_songs, list_drills
from trainer.files.yaml_text import load_yaml

BAD = {
    "tabs": ("a:\n\tb: 1\n", r"drills\.yaml: line=2, expected YAML with spaces"),
    "alias": ("a: &x [1]\nb: *x\n", r"drills\.yaml: line=2, expected no aliases"),
    "deep": ("[" * 5000 + "]" * 5000, r"drills\.yaml: line=1, expected at most 12 levels"),
    "tag": ("!!python/object/apply:os.system ['true']", r"drills\.yaml: line=1, expected YAML"),
    "half": ("a: [1, 2\n", r"drills\.yaml: line=\d+, expected YAML"),
}


@pytest.mark.parametrize("kind", BAD)
def test_bad_yaml_is_one_line_with_its_place(tmp_path: Path, kind: str) -> None:
    """Tabs, aliases, depth, tags, half a file."""
    text, expected = BAD[kind]
    path = tmp_path / "drills.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadValue, match=expected) as caught:
        load_yaml(path)
    assert "\n" not in str(caught.value)


def test_large_foreign_and_missing_files_are_refused(tmp_path: Path) -> None:
    """10 MB, not UTF-8, not there."""
    path = tmp_path / "x.yaml"
    with pytest.raises(BadValue, match="expected a readable file"):
        load_yaml(path)
    path.write_bytes(b"a: \xff\xfe")
    with pytest.raises(BadValue, match="a text file in UTF-8"):
        load_yaml(path)
    path.write_bytes(b"#" * 10_000_000)
    with pytest.raises(BadValue, match="expected at most 1000000"):
        load_yaml(path)


def test_a_persons_own_drills_are_found_and_may_not_hide_others(data_folder: Path) -> None:
    """Files in the data folder's exercises join the bundled ones."""
    from tests.exercise.test_schema import ROOT

    own = data_folder / "exercises"
    own.mkdir()
    text = (ROOT / "exercises" / "template" / "template.yaml").read_text(encoding="utf-8")
    (own / "mine.yaml").write_text(text.replace("my_high_shelf", "air_of_my_own"), encoding="utf-8")
    assert "air_of_my_own" in list_drills(data_folder)
    (own / "mine.yaml").write_text(text.replace("drill: my_high_shelf", "drill: limiting"), encoding="utf-8")
    with pytest.raises(Exception, match=r"mine\.yaml: drill=limiting, expected a name that no other file uses"):
        list_drills(data_folder)


def test_an_unknown_drill_names_the_nearest(data_folder: Path) -> None:
    """A misspelt name."""
    with pytest.raises(
        BadValue, match=r"drill: name=high_shelf_8, .*such as high_shelf_8k, \w+, \w+; see `evenhand list drills`$"
    ):
        find_drill(list_drills(data_folder), "high_shelf_8")


def test_the_bundled_songs_are_there() -> None:
    """Each song of the list is a file, with bars and sections."""
    for entry in list_demo_songs():
        assert Path(entry.path).is_file() and entry.bars is not None and entry.sections


def test_only_a_tab_is_told_to_be_one(tmp_path: Path) -> None:
    """YAML 1.2, 6.1: tabs are no indents; half a list has nothing to do with them."""
    path = tmp_path / "drills.yaml"
    path.write_text("a: [1, 2\n", encoding="utf-8")
    with pytest.raises(BadValue, match="that is valid") as caught:
        load_yaml(path)
    assert "indent" not in str(caught.value)
    path.write_text("a:\n\tb: 1\n", encoding="utf-8")
    with pytest.raises(BadValue, match="spaces for indents"):
        load_yaml(path)
