"""Projects, rounds and typed paths on the disk."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from tests.decisions.sheets import make_sheet
from trainer.decisions.rounds import Round
from trainer.decisions.sheet import Candidate
from trainer.errors import BadValue, EvenhandError
from trainer.files.notebook import NAME, RoundFile
from trainer.files.paths import Paths
from trainer.files.projects import ProjectFolder
from trainer.files.sheet_page import write_sheet_page

PAIR = {"versions": ("aa", "bb"), "names": ("a", "b"), "pair": (0, 1), "stretches": ((0.0, 8.0),), "seed": 5}
ROUND = Round("r1", "2031-05-07T20:00:00+00:00", 1, "headphones", "prefer", **PAIR)  # type: ignore[arg-type]


@pytest.fixture
def projects(tmp_path: Path) -> ProjectFolder:
    """Give an empty folder of projects."""
    return ProjectFolder(tmp_path, write_sheet_page)


def test_a_sheet_and_its_page_are_kept_under_the_project(projects: ProjectFolder, tmp_path: Path) -> None:
    """What is read is what was written; the page is whole; the last one changed comes first."""
    first, second = replace(make_sheet(), project="Low tide"), replace(make_sheet(), project="High tide")
    page = projects.write(first)
    projects.write(second)
    os.utime(tmp_path / "projects" / "High tide" / "sheet.yaml", (1, 1))
    assert projects.read("Low tide") == first and projects.list_names() == ("Low tide", "High tide")
    assert Path(page).read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert projects.find_sheet("Low tide") == str(tmp_path / "projects" / "Low tide" / "sheet.yaml")


@pytest.mark.parametrize("name", ["", "a/b", "..", "mix.", " mix", "x" * 81, "a\nb"])
def test_a_name_that_no_folder_can_have_is_refused(projects: ProjectFolder, name: str) -> None:
    """One line, and nothing is written."""
    with pytest.raises(BadValue, match="project: name="):
        projects.write(replace(make_sheet(), project=name))


def test_unsettled_moves_follow_the_sheets(projects: ProjectFolder, tmp_path: Path) -> None:
    """By construction: one open and not settled; a sheet broken by hand asks for nothing and stops nothing."""
    settings = {"corner_hz": 110.0, "gain_db": 1.0}
    shelf = Candidate("s", "balance", "taste", "low_shelf", 1.0, "dB", settings, verdict="not_settled")
    sheet = replace(make_sheet(), project="Low tide", candidates=(shelf,), finished=("aim",))
    projects.write(sheet)
    assert projects.list_unsettled() == (("low_shelf", "Low tide"),)
    projects.write(replace(sheet, candidates=(replace(shelf, decision="leave"),)))
    os.utime(tmp_path / "projects" / "Low tide" / "sheet.yaml", (5, 5))
    assert projects.list_unsettled() == ()
    (tmp_path / "projects" / "Low tide" / "sheet.yaml").write_text("nonsense: [", encoding="utf-8")
    assert projects.list_unsettled() == ()
    with pytest.raises(EvenhandError):
        projects.read("Low tide")


def test_rounds_are_kept_answer_by_answer(tmp_path: Path) -> None:
    """The last line of a round counts; a line that a power cut left half written is passed over."""
    book = RoundFile(tmp_path)
    assert book.list_rounds() == ()
    book.keep_round(ROUND)
    book.keep_round(ROUND.after("2"))
    other = replace(ROUND, round="r2", versions=("cc", "aa"))
    book.keep_round(other)
    with (tmp_path / NAME).open("a", encoding="utf-8") as file:
        file.write('{"round": "r3", "kind"')
    assert RoundFile(tmp_path).list_rounds(("bb", "aa")) == (ROUND.after("2"),)
    assert RoundFile(tmp_path).list_rounds() == (ROUND.after("2"), other)


def test_paths_are_completed_as_far_as_they_go(tmp_path: Path) -> None:
    """Folders first, then sound files; hidden ones only when a dot was typed; nothing for what is not there."""
    for name in ("mix 3.wav", "mix 4.flac", "mix.txt", "mine.jsonl", ".hidden.wav"):
        (tmp_path / name).write_bytes(b"")
    (tmp_path / "mixes").mkdir()
    paths = Paths()
    found = [Path(path).name for path in paths.complete(f"{tmp_path}{os.sep}mi")]
    assert found == ["mixes", "mix 3.wav", "mix 4.flac"]
    histories = paths.complete(f"{tmp_path}{os.sep}mi", "history")
    assert [Path(path).name for path in histories] == ["mixes", "mine.jsonl"]
    assert [Path(path).name for path in paths.complete(f"{tmp_path}{os.sep}.")] == [".hidden.wav"]
    assert paths.complete(str(tmp_path / "none" / "x")) == ()
    with pytest.raises(BadValue, match="a file that can be read"):
        paths.read_hash(str(tmp_path / "none.wav"))
