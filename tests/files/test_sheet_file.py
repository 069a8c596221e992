"""The sheet on disk: the same when read back, readable, safe from half-written files, clear about nonsense."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings

from tests.decisions.sheets import MIX, draw_sheet, make_candidate, make_sheet
from trainer.decisions.sheet import Sheet
from trainer.errors import BadValue, BadValues
from trainer.files.sheet_file import format_sheet, open_sheet, write_sheet


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(draw_sheet())
def test_what_is_written_is_read(tmp_path: Path, sheet: Sheet) -> None:
    """By construction: equal, every float bit for bit; and by the library's own safe loader it is plain data."""
    path = tmp_path / "sheet.yaml"
    write_sheet(path, sheet)
    assert open_sheet(path) == sheet
    assert yaml.safe_load(path.read_text(encoding="utf-8"))["project"] == sheet.project
    assert [each.name for each in tmp_path.iterdir()] == ["sheet.yaml"]


def test_awkward_numbers_come_back_exactly(tmp_path: Path) -> None:
    """IEEE 754: the shortest decimal that reads back as the same double; a YAML of 1e-5 without a point is a word."""
    values = {"a": 0.1 + 0.2, "b": 1e-5, "c": 5e-324, "d": -0.0, "e": 123456789.12345678, "f": 1e8, "g": 1 / 3}
    sheet = make_sheet(candidates=(make_candidate(results=values),))
    write_sheet(tmp_path / "s.yaml", sheet)
    back = open_sheet(tmp_path / "s.yaml").candidates[0].results
    assert {name: value.hex() for name, value in back.items()} == {name: v.hex() for name, v in values.items()}


def test_it_can_be_read_by_a_person() -> None:
    """A key with its unit on a line of its own, stretches and answers on one line, definitions as sentences."""
    text = format_sheet(make_sheet())
    for line in (
        "format: 1",
        "project: Low tide",
        "    corner_hz: 110.0",
        "    stretches: [[61.5, 69.5], [12.0, 20.0]]",
        "  chosen: 2",
    ):
        assert f"\n{line}\n" in f"\n{text}", line
    assert "patient" in text and "bass: uneven?" in text and "S = 1" in text and "&id" not in text
    assert max(len(line) for line in text.splitlines()) <= 125


HAND: dict[str, tuple[str, str, str]] = {
    "a key twice": ("project: Low tide", "project: A\nproject: B", "key=project, expected a key that stands"),
    "a 31st of February": ("begun: '2026-11-27'", "begun: 2026-02-31", "value=2026-02-31, expected a number or a date"),
    "a number without end": ("seed: 7", f"seed: {'9' * 5000}", "expected a number or a date that exists"),
    "an alias": ("project: Low tide", "project: &a Low tide\nb: *a", "no aliases"),
    "a merge": ("project: Low tide", "<<: {a: 1}\nproject: Low tide", "key=<<"),
    "tabs": ("project: Low tide", "\tproject: Low tide", "YAML with spaces"),
    "python": ("project: Low tide", "project: !!python/object/apply:os.getcwd []", "expected YAML"),
    "a bare time": ("begun_at: '2026-11-27T21:14:03+01:00'", "begun_at: 2026-11-27T21:14:03", "begun_at=2026-11-27 21"),
    "a comma": ("corner_hz: 110.0", "corner_hz: 110,5", "corner_hz=110,5, expected a number"),
    "yes": ("heard: true", "heard: ja", "heard=ja, expected true or false"),
    "a switch for a word": ("mood: patient", "mood: on", "mood=true, expected text"),
    "another hash": ("sha256: abab", "sha256: xyxy", "sha256=xyxy"),
    "a rate out of bounds": ("sample_rate_hz: 48000", "sample_rate_hz: 48", "sample_rate_hz=48, expected"),
    "no number": ("duration_s: 191.25", "duration_s: .nan", "duration_s=nan"),
    "no end of a level": ("integrated_lufs: -18.43", "integrated_lufs: -.inf", "integrated_lufs=-inf"),
    "a list for a path": ("path: /songs/low_tide.wav", "path: [a, b]", "path="),
    "nothing for a path": ("path: /songs/low_tide.wav", "path:", "path=nothing"),
    "a word for a list": ("targets:\n  - streaming", "targets: streaming", "targets=streaming, expected a list"),
    "a name with blanks": ("- streaming", "- Music Streaming", "Music Streaming"),
    "another word": ("decision: keep", "decision: kept", "decision=kept, expected"),
    "another move": ("move: low_shelf", "move: low_shelves", "move=low_shelves, expected"),
    "another setting": ("corner_hz: 110.0", "corner: 110.0", "corner"),
    "a setting out of bounds": ("gain_db: 1.0", "gain_db: 900.0", "gain_db=900"),
    "a list for settings": ("results:\n    gain_db: 1.004\n    gain_at_40_hz_db: 0.97", "results: [1]", "results="),
    "a rung that is not": ("chosen: 2", "chosen: 9", "chosen=9, expected 1 to 3"),
    "another length of word": ("bit_depth: 16", "bit_depth: 17", "bit_depth=17, expected"),
    "another step": ("- listen_through", "- listening", "listening"),
    "an end before its start": ("end_s: 190.0", "end_s: 0.1", "end_s=0.1, expected"),
    "an answer of three": ("answers: [1, 2, 2", "answers: [3, 2, 2", "answers="),
    "a key too many": ("begun:", "began: 2026-11-27\nbegun:", "began"),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(HAND))
def test_a_hand_that_slips_is_told_where(tmp_path: Path, name: str) -> None:
    """By construction: each slip gives lines that name the file, and one of them the slip."""
    before, after, wanted = HAND[name]
    text = format_sheet(make_sheet())
    assert before in text
    path = tmp_path / "sheet.yaml"
    path.write_text(text.replace(before, after, 1), encoding="utf-8")
    with pytest.raises((BadValue, BadValues)) as caught:
        open_sheet(path)
    lines = str(caught.value).splitlines()
    assert all(line.startswith("sheet.yaml") and ", expected " in line for line in lines)
    assert any(wanted in line for line in lines)


def test_a_hand_may_write_dates_and_whole_numbers(tmp_path: Path) -> None:
    """YAML 1.1: a bare date is a date; 110 is 110.0."""
    text = (
        format_sheet(make_sheet()).replace("'2026-11-27'", "2026-11-27").replace("corner_hz: 110.0", "corner_hz: 110")
    )
    (tmp_path / "s.yaml").write_text(text, encoding="utf-8")
    assert open_sheet(tmp_path / "s.yaml") == make_sheet()


@pytest.mark.parametrize("text", ["", "3", "- 1", "format: 2", "format: 1", "\x00", "{" * 500, "a: b: c"])
def test_what_is_no_sheet(tmp_path: Path, text: str) -> None:
    """Lines, no trace."""
    (tmp_path / "s.yaml").write_text(text, encoding="utf-8")
    with pytest.raises((BadValue, BadValues)):
        open_sheet(tmp_path / "s.yaml")


def test_no_file_a_folder_and_other_letters(tmp_path: Path) -> None:
    """One line each."""
    (tmp_path / "latin.yaml").write_bytes("project: Möwe".encode("latin-1"))
    for path in (tmp_path / "none.yaml", tmp_path, tmp_path / "latin.yaml"):
        with pytest.raises(BadValue) as caught:
            open_sheet(path)
        assert len(str(caught.value).splitlines()) == 1


def test_what_could_not_be_read_is_not_written(tmp_path: Path) -> None:
    """By construction: two candidates of one name, a half letter, no number; the file keeps what it had."""
    path = tmp_path / "sheet.yaml"
    write_sheet(path, make_sheet())
    held = path.read_bytes()
    twice = make_sheet(candidates=(make_candidate(), make_candidate()))
    half = make_sheet(mix=replace(MIX, path="a\udc80.wav"))
    endless = make_sheet(mix=replace(MIX, integrated_lufs=float("-inf")))
    for bad in (twice, half, endless):
        with pytest.raises((BadValue, BadValues)):
            write_sheet(path, bad)
        assert path.read_bytes() == held and list(tmp_path.iterdir()) == [path]


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    """A file where a folder is needed: one line."""
    (tmp_path / "file").write_text("")
    with pytest.raises(BadValue, match="a place that can be written"):
        write_sheet(tmp_path / "file" / "sheet.yaml", make_sheet())
