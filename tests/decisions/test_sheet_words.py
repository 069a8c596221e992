"""The sheet in words and pictures: sentences with the right figures, curves against scipy."""

from __future__ import annotations

from dataclasses import replace
from math import comb

import numpy as np
import pytest
from scipy.signal import freqs

from tests.decisions.sheets import make_candidate, make_round, make_sheet
from trainer.decisions.sheet import Candidate, Delivery, Fades, Finding, Loudness, Tempo
from trainer.decisions.sheet_pictures import gather_equaliser_curve, gather_rung_costs
from trainer.decisions.sheet_words import (
    AIMS,
    aim_for,
    explain_rounds,
    list_last_stages,
    name_figure,
    tell_heard,
    word_fades,
    word_finding,
    word_limit,
)
from trainer.decisions.target import Rule
from trainer.dsp.moves import MOVES


def test_rounds_are_told_with_counts_and_odds() -> None:
    """Binomial, closed form: 10 of 12 or as uneven, either way, by a coin: 2 · (66 + 12 + 1) / 4096."""
    lines = explain_rounds((make_round(picked=10),), "The song with it")
    odds = 2 * sum(comb(12, k) for k in (10, 11, 12)) / 2**12
    assert lines[0] == "2026-11-27, headphones: without 2, with 10." and f"{odds:.3f}" in lines[1]
    assert "The song with it was preferred once, on one day, on headphones" in lines[-2]
    assert "on another day" in lines[-1] and "on another set-up" in lines[-1]


def test_what_was_not_finished_or_not_asked_is_said_so() -> None:
    """By construction: half a round; one with the names shown; and telling apart, which takes 12 of 16."""
    held = make_round()
    lines = explain_rounds((replace(held, answers=held.answers[:5]), replace(held, kind="sighted", answers=())))
    assert lines == ("Not finished: 5 of 12 answers.", "Listened to with the names shown; nothing was asked.")
    lines = explain_rounds((make_round("apart", 9),))
    assert "9 of 16 right" in lines[1] and "it takes 12 of 16" in lines[2]
    assert explain_rounds(()) == ()


def test_picks_that_were_taken_back_are_counted() -> None:
    """By construction: none is no line; one, and two, are in words; of 16 times X they are answers."""
    taken = ((1, "1"), (4, "2"))
    assert not any("taken back" in line for line in explain_rounds((make_round(),)))
    assert "One pick was taken back." in explain_rounds((make_round(taken_back=taken[:1]),))
    assert "Two answers were taken back." in explain_rounds((make_round("apart", 13, taken_back=taken),))


def test_the_favourite_is_named_whichever_it_is() -> None:
    """By construction: the song without the move wins 10 of 12: it is not the move that is confirmed."""
    lines = " ".join(explain_rounds((make_round(picked=2),), "The song with it"))
    assert "without was preferred once" in lines and "The song with it" not in lines


@pytest.mark.parametrize("move", sorted(AIMS))
def test_an_aim_stands_for_a_measured_result(move: str) -> None:
    """By construction: only where the result was measured, and with its figure and a real minus sign."""
    candidate = make_candidate(move, move)
    assert aim_for(candidate) == ""
    name = AIMS[move][0]
    value = 87.0 if name.endswith("_hz") else -1.25
    words = aim_for(replace(candidate, results={name: value}))
    assert words.endswith(".") and ("87 Hz" in words or "−1.2" in words) and "-" not in words.replace("cut-off", "")


def test_every_move_of_a_chain_has_an_aim() -> None:
    """By construction: the aims are those of moves that there are, and each of the chain has one."""
    assert set(AIMS) <= set(MOVES) and "compressor" in AIMS


def test_the_last_stages_are_in_their_order() -> None:
    """Rate conversion, then limiter, then peak check, dither last: common practice, no source."""
    stages = list_last_stages(make_sheet())
    assert [name for name, _, _ in stages] == ["Rate conversion", "Limiter", "Fades", "Peak check", "Dither"]
    assert "−12.0 LUFS" in stages[1][2] and "2.2 dB of reduction" in stages[1][2]
    assert stages[3][1] == "at most −1.0 dBTP" and stages[4][1] == "triangular, to 16 bits"
    bare = list_last_stages(make_sheet(loudness=Loudness(), delivery=Delivery(0, 32)))
    assert bare[0][1] == "the mix's own, 48000 Hz" and bare[1][1] == "none" and "floating" in bare[4][1]


def test_fades_and_findings_in_words() -> None:
    """By construction."""
    assert word_fades(Fades(), 191.25) == "starts at 0.000 s, no fade in; to the end, no fade out"
    fades = Fades(0.25, 0.005, 190.0, 4.0, "linear", "equal_power")
    said = "starts at 0.250 s, in over 5 ms, linear; ends at 190.000 s, out over 4.0 s, equal power"
    assert word_fades(fades, 191.25) == said
    # At 120 in four a bar is 2 s: 186 s is a bar line counted from 0 s, and none counted from 0.5 s.
    tempo = Tempo(120.0, 4, 0.0)
    told = f"{said}, from a bar line; 120 beats a minute, 4 in a bar, counted from 0.00 s"
    assert word_fades(fades, 191.25, tempo) == told == list_last_stages(make_sheet(fades=fades, tempo=tempo))[2][1]
    assert "from a bar line" not in word_fades(fades, 191.25, replace(tempo, first_s=0.5))
    found = Finding("bad_edit", 83.25, 83.26, True, False, -14.24, "dB", "mix", "chorus")
    assert word_finding(found) == "Bad edit at 1:23 (83.25 s), −14.2 dB, heard: chorus"
    lasting = Finding("hum", 0.0, 83.25, measured=True, strength=-61.0, unit="dBFS")
    assert word_finding(lasting) == "Hum, 0:00 to 1:23 (0.00 to 83.25 s), −61.0 dBFS, measured"


@pytest.mark.parametrize(
    ("heard_s", "words"),
    [
        (10.5, "Heard to 0:10 of 3:11; what comes after it was not listened to."),
        (0.0, "Heard to 0:00 of 3:11; what comes after it was not listened to."),
        (190.0, ""),
        (None, ""),
    ],
)
def test_a_pass_that_was_not_heard_to_its_end_is_told(heard_s: float | None, words: str) -> None:
    """A mix of 191.25 s, 3:11; within 2 s of its end it was heard to its end; nothing is said of what nobody knows."""
    assert tell_heard(make_sheet(heard_to_s=heard_s)) == words


@pytest.mark.parametrize(
    ("way", "limit", "unit", "words"),
    [
        ("most", -1.0, "dBTP", "at most −1.0 dBTP"),
        ("most", 0.0, "places", "none"),
        ("between", (-24.0, -22.0), "LUFS", "−24.0 to −22.0 LUFS"),
        ("among", (44100, 176400), "Hz", "44.1 kHz or 176.4 kHz"),
        ("among", ("WAV", "FLAC"), "", "WAV or FLAC"),
        ("least", 16.0, "bit", "at least 16 bit"),
    ],
)
def test_limits_in_words(way: str, limit: object, unit: str, words: str) -> None:
    """By construction."""
    assert word_limit(Rule("true_peak_dbtp", way, limit, unit, "fail", "standard", "s", "d")) == words  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("name", "words", "unit"),
    [
        ("snare_crest_lost_db", "snare stands lower by", "dB"),
        ("turned_down_streaming_db", "turned down in playback, streaming", "dB"),
        ("loudness_change_lu", "change of the song's loudness", "LU"),
        ("odd_thing", "odd thing", ""),
        ("something_percent", "something", "%"),
    ],
)
def test_figures_are_named_from_their_keys(name: str, words: str, unit: str) -> None:
    """By construction: what has no words of its own is read from its key."""
    assert name_figure(name) == (words, unit)


def make_filters() -> tuple[Candidate, ...]:
    """A kept bell and high-pass, a kept compressor, a shelf that was left out."""
    bell = make_candidate(
        "bell", "bell", settings={"centre_hz": 3000.0, "centre_gain_db": -1.5, "bell_q": 0.8}, decision="keep"
    )
    high_pass = make_candidate(
        "hp", "high_pass", settings={"cutoff_hz": 25.0, "slope_per_octave_db": 12.0}, decision="keep"
    )
    return (bell, high_pass, make_candidate("glue", "compressor", decision="keep"), make_candidate("out"))


def test_the_curve_is_the_sum_of_the_kept_filters() -> None:
    """scipy's analogue responses: Audio EQ Cookbook (W3C 2021), peaking; Butterworth of second order."""
    curve = gather_equaliser_curve(make_sheet(candidates=make_filters()))
    assert curve is not None and [name.split(",")[0] for name, _ in curve.each] == ["High-pass", "Bell"]
    hertz = np.array([x for x, _ in curve.whole])
    a, q = 10 ** (-1.5 / 40), 0.8
    bell = freqs([1, a / q, 1], [1, 1 / (a * q), 1], worN=hertz / 3000)[1]
    high_pass = freqs([1, 0, 0], [1, np.sqrt(2), 1], worN=hertz / 25)[1]
    wished = 20 * np.log10(np.abs(bell * high_pass))
    assert np.abs(np.array([y for _, y in curve.whole]) - wished).max() < 1e-6
    assert gather_equaliser_curve(make_sheet(candidates=())) is None


def test_costs_are_drawn_in_the_order_of_loudness() -> None:
    """By construction: rungs in any order; the chosen one keeps its place; costs that one rung lacks are left out."""
    sheet = make_sheet()
    rungs = sheet.loudness.rungs
    turned = replace(sheet.loudness, rungs=(rungs[2], rungs[0], rungs[1]), chosen=0)
    costs = gather_rung_costs(replace(sheet, loudness=turned))
    assert costs is not None and costs.reached_lufs == (-13.99, -11.99, -9.99) and costs.chosen == 2
    assert dict(costs.costs_db)["reduction_on_hits_db"] == (0.4, 2.2, 5.1)
    assert gather_rung_costs(replace(sheet, loudness=replace(turned, rungs=rungs[:1], chosen=0))) is None
    bare = tuple(replace(rung, costs={"added_percent": 1.0}) for rung in rungs)
    assert gather_rung_costs(replace(sheet, loudness=replace(turned, rungs=bare))) is None
