"""The sheet as a plain document: the same when read back; nonsense is named, all of it at once."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings

from tests.decisions.sheets import draw_sheet, make_candidate, make_round, make_sheet
from trainer.decisions.sheet import Fades, Finding, Sheet, Tempo
from trainer.decisions.sheet_definitions import DEFINITIONS
from trainer.decisions.sheet_document import list_sheet, read_sheet
from trainer.decisions.sheet_parts import STREAMING
from trainer.errors import BadValues

Document = dict[str, Any]
Change = Callable[[Document], object]


@settings(max_examples=60, deadline=None)
@given(draw_sheet())
def test_it_reads_back_as_the_same_sheet(sheet: Sheet) -> None:
    """By construction: whatever may stand on a sheet, the document gives it back."""
    assert read_sheet(copy.deepcopy(list_sheet(sheet)), "s.yaml") == sheet


def test_people_count_from_one() -> None:
    """By construction: the second rung is chosen, the pair is the first and the second; answers are numbers."""
    document: Document = list_sheet(make_sheet())
    assert document["format"] == 1 and document["loudness"]["chosen"] == 2
    held = document["candidates"][0]["rounds"][0]
    assert held["pair"] == [1, 2] and set(held["answers"]) == {1, 2}

    assert "taken_back" not in held and "among" not in held


def test_what_was_taken_back_stands_on_the_sheet() -> None:
    """By construction: to the third question the answer was 1 first; a sheet without the key reads as before."""
    shelf = make_candidate(rounds=(make_round(taken_back=((2, "1"),)),))
    document: Document = list_sheet(make_sheet(candidates=(shelf,)))
    held = document["candidates"][0]["rounds"][0]
    assert held["taken_back"] == [[3, 1]]
    assert read_sheet(copy.deepcopy(document), "s.yaml").candidates[0].rounds[0].taken_back == ((2, "1"),)
    del held["taken_back"]
    assert read_sheet(document, "s.yaml").candidates[0].rounds[0] == make_round()
    for wrong in ([[0, 1]], [[3, 3]], [3], [[13, 1]], [[3, True]]):
        held["taken_back"] = wrong
        with pytest.raises(BadValues, match=r"taken.back"):
            read_sheet(copy.deepcopy(document), "s.yaml")


def test_what_was_decided_with_its_kind_is_marked() -> None:
    """By construction: only where it is so; a sheet without the key reads as before."""
    alone, together = Finding("click", 1.0, 1.0, measured=True), Finding("pop", 2.0, 2.0, measured=True, together=True)
    document: Document = list_sheet(make_sheet(findings=(alone, together)))
    assert [each.get("together") for each in document["findings"]] == [None, True]
    assert read_sheet(copy.deepcopy(document), "s.yaml").findings == (alone, together)
    document["findings"][1]["together"] = "yes"
    with pytest.raises(BadValues, match="finding 2: together=yes, expected true or false"):
        read_sheet(document, "s.yaml")


def test_how_far_the_song_was_heard_stands_on_the_sheet() -> None:
    """By construction: exactly, beside the findings; a sheet without the key reads as one of which it is not known."""
    document: Document = list_sheet(make_sheet(heard_to_s=10.123))
    assert document["heard_to_s"] == 10.123
    assert list(document).index("heard_to_s") == list(document).index("findings") + 1
    assert read_sheet(copy.deepcopy(document), "s.yaml").heard_to_s == 10.123
    del document["heard_to_s"]
    assert read_sheet(document, "s.yaml") == make_sheet() and "heard_to_s" not in list_sheet(make_sheet())


def test_a_sheet_with_one_curve_reads_with_two() -> None:
    """By construction: the curve that head and tail once shared is that of both."""
    document: Document = list_sheet(make_sheet(fades=Fades(0.25, 0.005, 190.0, 4.0, "linear", "equal_power")))
    assert (document["fades"].pop("curve_in"), document["fades"].pop("curve_out")) == ("linear", "equal_power")
    document["fades"]["curve"] = "linear"
    assert read_sheet(document, "s.yaml").fades == Fades(0.25, 0.005, 190.0, 4.0, "linear", "linear")


def test_the_tempo_stands_on_the_sheet() -> None:
    """By construction: as it was said, with where bars are counted from; a sheet without it reads as before."""
    document: Document = list_sheet(make_sheet(tempo=Tempo(92.5, 3, 0.51)))
    assert document["tempo"] == {"tempo_bpm": 92.5, "beats_in_bar": 3, "first_s": 0.51}
    assert read_sheet(copy.deepcopy(document), "s.yaml").tempo == Tempo(92.5, 3, 0.51)
    del document["tempo"]
    assert read_sheet(document, "s.yaml") == make_sheet() and "tempo" not in list_sheet(make_sheet())


def test_definitions_are_those_of_the_moves_weighed() -> None:
    """Audio EQ Cookbook (W3C 2021): S = 1 has half of the gain at the corner; without a bell no word of Q."""
    found: Document = list_sheet(make_sheet())["definitions"]  # type: ignore[assignment]
    assert "half of it in dB" in found["shelf_gain"] and "bell_q" not in found
    more = make_sheet(candidates=(make_candidate("presence", "bell"), make_candidate("glue", "compressor")))
    found = list_sheet(more)["definitions"]  # type: ignore[assignment]
    assert "centre / Q" in found["bell_q"] and "63 %" in found["attack_release"]
    assert all(name in STREAMING for moves, _ in DEFINITIONS.values() for name in moves)


def _set(*path: Any) -> Change:
    """Set what stands at a path to the last item of it."""

    def change(document: Document) -> None:
        for key in path[:-2]:
            document = document[key]
        document[path[-2]] = path[-1]

    return change


SHELF = ("candidates", 0)
BROKEN: dict[str, tuple[Change, str]] = {
    "another format": (_set("format", 2), "s.yaml: format=2, expected 1"),
    "an unknown key": (_set("colour", "red"), "s.yaml: colour=red, expected no such key"),
    "a near key": (_set("mix", "sample_rate", 1), "s.yaml, mix: sample_rate=1"),
    "a missing key": (lambda d: d["aim"].pop("mood"), "s.yaml, aim: mood=missing, expected this key"),
    "a list for a mapping": (_set("mix", []), "s.yaml: mix=[], expected a mapping"),
    "a word for a number": (_set(*SHELF, "amount", "much"), "(low_shelf_110): amount=much, expected a number"),
    "true for a number": (_set(*SHELF, "amount", True), "amount=true, expected a number"),
    "no number": (_set("loudness", "rungs", 0, "drive_db", float("nan")), "rung 1: drive_db=nan"),
    "infinite": (_set("mix", "integrated_lufs", float("-inf")), "integrated_lufs=-inf"),
    "a thousand digits": (_set(*SHELF, "amount", 10**4500), "amount=a whole number of more than 30 digits"),
    "a fraction of a rate": (_set("mix", "sample_rate_hz", 44100.5), "sample_rate_hz=44100.5, expected a whole number"),
    "a rate that is none": (_set("delivery", "rate_hz", 22050), "delivery: rate_hz=22050, expected"),
    "a word length": (_set("delivery", "bit_depth", 20), "bit_depth=20, expected a whole number, one of 16, 24, 32"),
    "a hash cut off": (_set("mix", "sha256", "ab12"), "mix: sha256=ab12, expected a SHA-256"),
    "a day that is none": (_set("begun", "2026-02-31"), "begun=2026-02-31, expected a date"),
    "a time without zone": (_set("whole", 0, "begun_at", "2026-11-27T21:00:00"), "whole, round 1: begun_at="),
    "an unknown move": (_set(*SHELF, "move", "lo_shelf"), "move=lo_shelf, expected one of"),
    "a move that is planted": (_set(*SHELF, "move", "click"), "move=click"),
    "an unknown setting": (_set(*SHELF, "settings", "corner", 1), "settings: corner=1.0, expected no such setting"),
    "a setting left out": (lambda d: d["candidates"][0]["settings"].pop("gain_db"), "settings: gain_db=missing"),
    "a setting out of bounds": (_set(*SHELF, "settings", "corner_hz", 5), "corner_hz=5.0, expected 30 to 1000 Hz"),
    "a result that is a word": (_set(*SHELF, "results", "gain_db", "1 dB"), "results: gain_db=1 dB"),
    "one name twice": (_set("candidates", 1, "candidate", "low_shelf_110"), "candidate=low_shelf_110, expected a name"),
    "a name with a space": (_set(*SHELF, "candidate", "low shelf"), "candidate 1: candidate=low shelf"),
    "a strange verdict": (_set(*SHELF, "verdict", "great"), "verdict=great"),
    "a step that is none": (_set("finished", ["aim", "dance"]), "step 2=dance"),
    "a step twice": (_set("finished", ["aim", "aim"]), "finished=aim, expected a name that is used once"),
    "a rung that is none": (_set("loudness", "chosen", 4), "loudness: chosen=4, expected 1 to 3"),
    "rung nought": (_set("loudness", "chosen", 0), "loudness: chosen=0"),
    "a limiter's drive of its own": (_set("loudness", "settings", "drive_db", 2.0), "settings: drive_db=2.0"),
    "a limiter without ceiling": (lambda d: d["loudness"]["settings"].pop("ceiling_dbtp"), "ceiling_dbtp=missing"),
    "an end before the start": (_set("findings", 0, "end_s", 1.0), "finding 1: end_s=1.0, expected start_s, 12.5"),
    "fades that do not fit": (_set("fades", "fade_out_s", 500.0), "fades: fade_out_s=500.0"),
    "fades longer than the mix": (
        lambda sheet: sheet["fades"].update(end_s=None, fade_out_s=4000.0),
        "fade_out_s=4000.0, expected both fades within",
    ),
    "heard behind the mix": (_set("heard_to_s", 400), "s.yaml: heard_to_s=400.0, expected 191.25 at most"),
    "heard before the mix": (_set("heard_to_s", -1.0), "s.yaml: heard_to_s=-1.0, expected a number, 0 to"),
    "heard to a word": (_set("heard_to_s", "end"), "s.yaml: heard_to_s=end, expected a number"),
    "an end behind the mix": (_set("fades", "end_s", 300.0), "fades: end_s=300.0, expected 191.25 at most"),
    "a curve": (_set("fades", "curve_out", "steep"), "fades: curve_out=steep, expected one of"),
    "an older curve beside": (_set("fades", "curve", "linear"), "curve=linear, expected curve_in and curve_out"),
    "an older curve that is none": (
        lambda sheet: sheet.update(fades={"start_s": 0.0, "fade_in_s": 0.1, "end_s": None, "fade_out_s": 0.1,
                                          "curve": "steep"}),
        "fades: curve=steep, expected one of",
    ),
    "a tempo that is none": (_set("tempo", {"tempo_bpm": 20, "beats_in_bar": 4, "first_s": 0.5}), "tempo_bpm=20, exp"),
    "beats that are none": (_set("tempo", {"tempo_bpm": 92, "beats_in_bar": 0, "first_s": 0.5}), "beats_in_bar=0, exp"),
    "bars behind the mix": (
        _set("tempo", {"tempo_bpm": 92, "beats_in_bar": 4, "first_s": 500.0}),
        "s.yaml, tempo: first_s=500.0, expected 191.25 at most",
    ),
    "a tempo in words": (_set("tempo", "92 3"), "tempo=92 3, expected a mapping with tempo_bpm"),
    "too many answers": (_set("whole", 0, "answers", [1] * 13), "answers=1 1 1"),
    "an answer that is none": (_set("whole", 0, "answers", [3]), "answers=[3], expected a list of 1 and 2"),
    "a pair of one": (_set("whole", 0, "pair", [1, 1]), "pair=(0, 0)"),
    "four impressions": (_set("aim", "impressions", list("abcd")), "impressions=4 items, expected a list of 0 to 3"),
    "a bell character": (_set(*SHELF, "note", "ding\x07"), "note=ding\\x07, expected text without control"),
    "a definition of one's own": (_set("definitions", "warmth", "nice"), "definitions: warmth=nice"),
    "definitions that are none": (_set("definitions", 3), "definitions=3"),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(BROKEN))
def test_nonsense_is_named(name: str) -> None:
    """Each fault names its place and what was expected; nothing else is raised."""
    change, wanted = BROKEN[name]
    document = copy.deepcopy(list_sheet(make_sheet()))
    change(document)
    with pytest.raises(BadValues) as caught:
        read_sheet(document, "s.yaml")
    assert wanted in str(caught.value) and ", expected " in str(caught.value)
    assert len(caught.value.faults) == 1


def test_all_faults_are_told_together() -> None:
    """By construction: everything broken in turn is broken at once; each has its line."""
    alone = {"another format", "a list for a mapping", "definitions that are none"}
    # Set one over the other: only one of each place can be seen.
    places = {
        "a word for a number", "a hash cut off", "a day that is none", "an unknown setting", "a setting out of bounds",
        "one name twice", "a strange verdict", "a step twice", "a rung that is none", "an end before the start",
        "a curve", "four impressions", "a missing key", "an unknown key", "too many answers",
    } - alone  # fmt: skip
    document = copy.deepcopy(list_sheet(make_sheet()))
    for name in places:
        BROKEN[name][0](document)
    with pytest.raises(BadValues) as caught:
        read_sheet(document, "s.yaml")
    lines = str(caught.value).splitlines()
    assert len(lines) == len(places)
    assert all(any(BROKEN[name][1] in line for line in lines) for name in places)


@pytest.mark.parametrize("document", [None, 3, "sheet", [1], {}, {"format": 1}, {1: 2, "format": 1}])
def test_what_is_no_sheet_at_all(document: Any) -> None:
    """Lines, no trace."""
    with pytest.raises(BadValues) as caught:
        read_sheet(document, "s.yaml")
    assert all(str(fault).startswith("s.yaml") for fault in caught.value.faults)
