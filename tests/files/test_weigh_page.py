"""The page of a weighing: whole HTML, a figure for each pair, words as they are, every round that is kept."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.decisions.test_rounds import begin, pick, tell
from tests.files.test_check_page import Balance
from trainer.decisions.target import Rule, Target
from trainer.decisions.weighing_playback import PlaybackLevel, list_playback_levels, word_turn
from trainer.errors import BadValue
from trainer.files.weigh_page import WeighReport, make_weigh_page, write_weigh_page

CLICK = {"kind": "click", "count": 1, "first_s": 3.5, "strongest": 20.0, "unit": "dB"}
CLICK_WORDS = "Only in a.wav: click, at 3.50 s 20.0 dB."
LEVELS = (PlaybackLevel("Music streaming", -14.0, "common practice: some services, 2026-11-25"),)


def make_facts(count: int = 2, first: str = "/music/a.wav") -> dict[str, Any]:
    """Make the facts of bounces as a weighing lists them."""
    paths = [first, *(f"/music/{letter}.wav" for letter in "bcdefgh"[: count - 1])]
    files = [
        {"file": path, "integrated_lufs": -9.7 - 6 * n, "true_peak_dbtp": -0.3 - n, "sentences": [f"In step, {n}."]}
        for n, path in enumerate(paths)
    ]
    bands = [{"low_hz": 22.4, "high_hz": 28.2, "difference_db": None}]
    bands += [{"low_hz": 891.3, "high_hz": 1122.0, "difference_db": -1.5}]
    differences = [
        {
            "a": paths[a],
            "b": paths[b],
            "bands": bands,
            "sentences": ["What differs lies 20 dB under the song, at the best level.", CLICK_WORDS],
            "faults_only_in_a": [CLICK] if a == 0 else [],
            "faults_only_in_b": [],
        }
        for a in range(count)
        for b in range(a + 1, count)
    ]
    return {
        "files": files,
        "stretch": {"start_s": 61.0, "end_s": 69.0},
        "spread_lu": 0.002,
        "differences": differences,
    }


def test_the_page_is_whole() -> None:
    """HTML: elements nest, nothing is fetched from elsewhere, a name full of marks stays a name."""
    parser = Balance()
    page = make_weigh_page(WeighReport(make_facts(first='/m/<b>&"a".wav'), (), LEVELS, ("x.wav: <i>",)))
    parser.feed(page)
    assert parser.open == [] and parser.seen.count("svg") == 1
    assert "<b>" not in page and "&lt;b&gt;" in page and "<i>" not in page
    assert "http://" not in page.replace("http://www.w3.org/2000/svg", "") and "https://" not in page
    assert "<script" not in page and "<link" not in page and " -" not in page.split("</style>")[1].split("<svg")[0]


@pytest.mark.parametrize(("count", "figures"), [(2, 1), (3, 3), (4, 3), (8, 7)])
def test_figures_for_every_pair_or_against_the_first(count: int, figures: int) -> None:
    """Closed form: n(n − 1)/2 pairs of up to three files; n − 1 figures of more."""
    parser = Balance()
    parser.feed(make_weigh_page(WeighReport(make_facts(count), (), LEVELS)))
    assert parser.seen.count("svg") == figures


def test_how_far_each_is_turned_down() -> None:
    """Closed form: −9.7 LUFS at −14 is 4.3 dB down; −15.7 lies 1.7 dB under it, and −1.3 dBTP leaves 0.3 dB to −1."""
    page = make_weigh_page(WeighReport(make_facts(), (), LEVELS))
    assert "<td>−4.3 dB</td>" in page and "<td>1.7 dB under it; its peaks leave 0.3 dB</td>" in page
    assert "common practice: some services, 2026-11-25" in page
    assert word_turn(LEVELS[0], -14.02, -1.0) == "left as it is"
    assert word_turn(LEVELS[0], -17.0, 0.2) == "3.0 dB under it; its peaks leave no room"
    assert word_turn(LEVELS[0], -20.0, -9.0) == "6.0 dB under it"


def test_each_level_once_with_its_origin() -> None:
    """By construction: a range counts by its upper end; a target without loudness, and a second one of a level, not."""

    def target(name: str, way: str, limit: Any) -> Target:
        rule = Rule("integrated_lufs", way, limit, "LUFS", "pass", "recommendation", "a standard", "2023-11-01")
        return Target(name, name.title(), "", (rule,) if way else ())

    levels = list_playback_levels(
        [target("low", "between", (-24.0, -22.0)), target("none", "", 0), target("aim", "aim", -14.0),
         target("same", "aim", -14.0)]
    )  # fmt: skip
    assert [(level.title, level.aim_lufs) for level in levels] == [("Aim", -14.0), ("Low", -22.0)]
    assert levels[0].origin == "recommendation: a standard, 2023-11-01"


def test_faults_are_told_once_and_under_their_own_head() -> None:
    """By construction: a click only in the first."""
    page = make_weigh_page(WeighReport(make_facts(), (), LEVELS))
    assert page.count(CLICK_WORDS) == 1
    assert page.index("Faults only in one of them") < page.index(CLICK_WORDS)
    assert f"{CLICK_WORDS} Against b.wav." in page


def test_every_round_is_told() -> None:
    """By construction: heard with the names, told apart, preferred once, left half answered."""
    left = begin("apart").after("1")
    rounds = (begin("sighted"), tell(begin("apart"), 13), pick(begin("prefer"), 11), left)
    page = make_weigh_page(WeighReport(make_facts(), rounds, LEVELS))
    for words in (
        "heard with the names shown", "13 of 16 right.", "Told apart.", "Picked: mix 3.wav 11, mix 4.wav 1.",
        "A favourite: mix 3.wav.", "mix 3.wav was preferred once, on one day", "left after 1 of 16 answers",
    ):  # fmt: skip
        assert words in page, words
    assert "No round is kept of these files." in make_weigh_page(WeighReport(make_facts(), (), LEVELS))


def test_a_page_that_cannot_be_written(tmp_path: Path) -> None:
    """A file where a folder is needed: one line."""
    (tmp_path / "taken").write_text("")
    with pytest.raises(BadValue, match="--page"):
        write_weigh_page(tmp_path / "taken" / "page.html", WeighReport(make_facts(), (), ()))
