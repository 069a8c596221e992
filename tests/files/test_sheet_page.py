"""The printable sheet: whole HTML that needs nothing else, with settings, results, evidence and origins."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from tests.decisions.sheets import MIX, make_candidate, make_round, make_sheet
from tests.decisions.test_finding_groups import make_runs
from tests.files.test_check_page import Balance
from trainer.decisions.finding_groups import decide_group
from trainer.decisions.sheet import Aim, Sheet
from trainer.decisions.sheet_pictures import gather_equaliser_curve, gather_rung_costs
from trainer.decisions.target import Target
from trainer.errors import BadValue
from trainer.files.sheet_charts import draw_equaliser, draw_rung_costs
from trainer.files.sheet_page import make_sheet_page, write_sheet_page
from trainer.files.target_reading import list_targets
from trainer.session.figure import Label, Mark
from trainer.session.figure import Path as Line


@pytest.fixture(scope="module")
def targets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Target]:
    """Give the shipped targets."""
    return list_targets(tmp_path_factory.mktemp("none"))


@pytest.fixture(scope="module")
def page(targets: dict[str, Target]) -> str:
    """A page on which everything stands."""
    glue = make_candidate(
        "glue", "compressor", results={"reduction_on_hits_db": 1.94}, decision="keep", verdict="keep",
        rounds=(make_round(), make_round(day=739950, setup="monitors")),
    )  # fmt: skip
    back = make_candidate("boom", "bell", decision="mix", note="tune the kick")
    sheet = make_sheet()
    return make_sheet_page(replace(sheet, candidates=(*sheet.candidates, glue, back)), targets)


def read_words(page: str) -> str:
    """Give a page's text without its markup."""
    plain = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", plain)))


def test_the_page_is_whole(page: str) -> None:
    """HTML: elements nest; two pictures; nothing is fetched from elsewhere, nothing runs."""
    parser = Balance()
    parser.feed(page)
    assert parser.open == [] and parser.seen.count("svg") == 2
    assert "script" not in parser.seen and "link" not in parser.seen and "img" not in parser.seen
    assert not re.search(r"(src|href)=|url\(|@import", page)
    assert "size: A4" in page and "@media print" in page


def test_everything_that_was_decided_stands_on_it(page: str) -> None:
    """By construction: each of these is on the sheet."""
    words = read_words(page)
    for wanted in (
        "the voice is near",  # first impression
        "Lower the threshold until the loudest hits show 1.9 dB of reduction",
        "corner 110 Hz",
        "drive into the ceiling +6.3 dB",
        "Your own threshold for such a move: 0.9–1.6 dB",
        "preferred in two rounds, on two days, on headphones and monitors",
        "without 2, with 10",
        "9 of 16 right",
        "Note: check on speakers",
        "tune the kick",
        "Click at 0:12",
        "−12.0 LUFS ← chosen",
        "AES TD1008.1.21-9: at the coder's input, 2021-09-24",
        "Slope S = 1",
        "triangular, to 16 bits",
    ):
        assert wanted in words, wanted
    assert "- " not in re.sub(r"[a-z]-[a-z ]", "", words), "a hyphen for a minus sign"


def test_moves_are_listed_in_the_order_of_the_chain(page: str) -> None:
    """Equaliser, compressor, rate, limiter, peak check, fades, dither: common practice, no source."""
    words = read_words(page)
    chain = words[words.index("To be set") : words.index("All kept filters")]
    names = ("Low shelf", "Bus compressor", "Rate conversion", "Limiter", "Fades", "Peak check", "Dither")
    places = [chain.index(f"{number} {name}") for number, name in enumerate(names, 1)]
    assert places == sorted(places)


def test_a_check_takes_the_place_of_the_bare_limits(targets: dict[str, Target]) -> None:
    """By construction: what was found, with the outcome as a word and not by colour alone."""
    verdict = {
        "verdict": "fail", "reason": "True peak −0.5 dBTP, but asked for: at most −1.0 dBTP.", "next": "Lower it.",
        "status": "recommendation", "source": "AES TD1008.1.21-9", "date": "2021-09-24",
    }  # fmt: skip
    page = make_sheet_page(make_sheet(), targets, [{"target": "streaming", "verdicts": [verdict]}])
    words = read_words(page)
    assert "fail" in words and "True peak −0.5 dBTP, but asked for" in words and "Lower it." in words
    assert "Sampling rate: 44.1 kHz" not in words


def test_words_that_look_like_markup_stay_words(targets: dict[str, Target]) -> None:
    """By construction: a title, a path and a note full of marks."""
    nasty = '<script>alert("&")</script>\x07'
    sheet = make_sheet(aim=Aim(title=nasty, keep=nasty, impressions=(nasty,)), mix=replace(MIX, path=f"/a/{nasty}"))
    sheet = replace(sheet, candidates=(make_candidate(note=nasty, reason=nasty, decision="leave"),))
    page = make_sheet_page(sheet, targets)
    assert "<script" not in page and "\x07" not in page and "&lt;script&gt;" in page


def test_a_sheet_just_begun(targets: dict[str, Target], tmp_path: Path) -> None:
    """By construction: nothing decided, no pictures, no empty headings; targets that are gone are left out."""
    sheet = Sheet("Low tide", MIX, "2026-11-27", Aim(targets=("gone",)))
    write_sheet_page(tmp_path / "new" / "sheet.html", sheet, targets)
    page = (tmp_path / "new" / "sheet.html").read_text(encoding="utf-8")
    assert "<svg" not in page and "Left out" not in page and "<h2>Loudness" not in page
    assert [each.name for each in (tmp_path / "new").iterdir()] == ["sheet.html"]
    (tmp_path / "file").write_text("")
    with pytest.raises(BadValue, match="a place that can be written"):
        write_sheet_page(tmp_path / "file" / "sheet.html", sheet, targets)


def test_charts_hold_their_data_and_tell_lines_apart_without_colour() -> None:
    """By construction: every point within the axes; each cost with a mark of its own shape; the chosen rung named."""
    sheet = make_sheet()
    curve, costs = gather_equaliser_curve(sheet), gather_rung_costs(sheet)
    assert curve is not None and costs is not None
    for figure in (draw_equaliser(curve, 680, 200), draw_rung_costs(costs, ["one", "two"], 680, 240)):
        points = [p for shape in figure.shapes if isinstance(shape, Line) for p in shape.points]
        points += [shape.at for shape in figure.shapes if isinstance(shape, (Mark, Label))]
        assert all(0 <= x <= figure.width and 0 <= y <= figure.height for x, y in points)
    marks = [shape for shape in figure.shapes if isinstance(shape, Mark)]
    assert {mark.shape for mark in marks} == {"dot", "ring"} and len(marks) == 2 * (3 + 1)
    assert any(isinstance(shape, Label) and shape.text == "chosen" for shape in figure.shapes)


def test_how_far_the_song_was_heard_is_told(targets: dict[str, Target]) -> None:
    """By construction: with what was found, or by itself; nothing of a song that was heard to its end."""
    said = "Heard to 0:10 of 3:11; what comes after it was not listened to."
    for findings, title in ((make_sheet().findings, "Also found on the pass"), ((), "The pass")):
        words = read_words(make_sheet_page(make_sheet(findings=findings, heard_to_s=10.0), targets))
        assert said in words and f" {title} " in words
    assert "Heard to" not in read_words(make_sheet_page(make_sheet(heard_to_s=MIX.duration_s), targets))


def test_many_of_one_kind_are_a_line(targets: dict[str, Target]) -> None:
    """By construction: 144 runs in one line, where they go; a click that was decided by itself in its own."""
    runs = decide_group(make_runs(), "clipped_run", "mix")
    click = replace(runs[3], kind="click", unit="dB", decision="keep", together=False)
    words = read_words(make_sheet_page(make_sheet(findings=(click, *runs), candidates=()), targets))
    line = "144 clipped runs, 0:12 to 3:32; the strongest at 1:30, 60 samples, measured"
    assert words.count("clipped run") == 1 and f"Goes back to the mix {line}" in words
    assert "Click at 0:16" in words and "Each by itself stands in the sheet's YAML file." in words
    assert "YAML" not in read_words(make_sheet_page(make_sheet(), targets))
