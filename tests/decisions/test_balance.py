"""A mix against references: bands by scipy's own spectrum, loudness by libebur128, moves for gains that are known."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pyebur128
import pytest
from scipy.signal import welch

from tests.decisions.steady_songs import RATE_HZ, describe, flat, make_steady
from trainer.audio.clip import Clip
from trainer.decisions.balance import BalanceRow, Comparison, compare_balance
from trainer.decisions.balance_moves import BalanceProposals, find_left_db, find_regions, propose_balance
from trainer.decisions.balance_reading import BANDS_HZ, SongBalance, read_balance
from trainer.decisions.balance_words import name_band, name_row, word_rows
from trainer.decisions.loud_sections import find_loud_spans
from trainer.decisions.song_results import measure_candidate
from trainer.dsp.song_chain import Step, render_song
from trainer.errors import BadValue
from trainer.measure.loudness_trace import measure_loudness_trace

Values = npt.NDArray[np.float64]


def read(clip: Clip, name: str = "mix", coded: bool = False, sha256: str = "") -> SongBalance:
    """Read a clip as a file of 24 bits."""
    return read_balance(name, clip, describe(clip, coded), sha256=sha256)


@lru_cache(maxsize=8)
def read_reference(seed: int) -> SongBalance:
    """Read a song of plain pink noise."""
    return read(make_steady(seed=seed), f"reference {seed}")


def compare(gain_db: Callable[[Values], Values], references: int = 3) -> Comparison:
    """Compare noise with a gain against plain noises."""
    return compare_balance(read(make_steady(gain_db, 1)), [read_reference(seed) for seed in range(2, 2 + references)])


def propose(gain_db: Callable[[Values], Values], references: int = 3) -> BalanceProposals:
    """Propose for noise with a gain."""
    return propose_balance(compare(gain_db, references))


def between(low_hz: float, high_hz: float, gain_db: float) -> Callable[[Values], Values]:
    """Lift all between two frequencies, with edges a sixth of an octave wide."""

    def give(frequencies_hz: Values) -> Values:
        octaves = np.log2(frequencies_hz)
        edges = [np.clip(6 * (octaves - math.log2(edge)) + 0.5, 0, 1) for edge in (low_hz, high_hz)]
        return np.asarray(gain_db * (edges[0] - edges[1]))

    return give


def lean(total_db: float) -> Callable[[Values], Values]:
    """Rise by so many dB from 20 Hz to 20 kHz in a straight line about 1 kHz, more or less."""
    return lambda frequencies_hz: total_db * np.log2(frequencies_hz / 632.0) / math.log2(1000)


def test_bands_are_those_of_another_meter() -> None:
    """scipy.signal.welch over the whole, and libebur128's loudness: 0.3 dB, as the loud part of noise is noise."""
    clip = make_steady(between(60, 120, 4.0), 7)
    found = read(clip)
    hz, density = welch(clip.samples.T.astype(float), RATE_HZ, nperseg=1 << 16)
    meter = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
    meter.add_frames(clip.samples.reshape(-1), clip.frames)
    loudness = pyebur128.get_loudness_global(meter)
    for (low, high), level in zip(BANDS_HZ, found.bands_db, strict=True):
        power = float(density.sum(axis=0)[(hz >= low) & (hz < high)].sum() * (hz[1] - hz[0]))
        assert level == pytest.approx(10 * math.log10(power) - loudness, abs=0.3)
    # The side has half the amplitude of the middle: −6.02 dB in every band (closed form).
    assert found.sides_db == pytest.approx([-6.02] * 8, abs=0.6)


def test_loud_sections_are_where_the_song_is_loud() -> None:
    """30 s soft, 13 s 10 dB up, 5 s soft: by construction, a quarter of it lies in the loud part."""
    gains = np.repeat([0.3, 1.0, 0.3], [30 * RATE_HZ, 13 * RATE_HZ, 5 * RATE_HZ])
    song = make_steady(length_s=48.0).samples * gains[:, None].astype(np.float32)
    spans = find_loud_spans(measure_loudness_trace(song, RATE_HZ))
    assert spans[0][0] >= 29.9 and spans[-1][1] <= 43.1
    # The last stretch that is taken in may add up to 3 s of its own.
    assert 12.0 <= sum(end - start for start, end in spans) + 1e-6 <= 15.0
    assert find_loud_spans(measure_loudness_trace(np.zeros((RATE_HZ * 5, 2)), RATE_HZ)) == ()


def test_a_known_difference_is_read() -> None:
    """Closed form: a band of pink noise lifted by 3 dB reads 3 dB more than the others do, against one loudness."""
    rows = compare(between(2000, 5000, 3.0)).list_rows("band")
    values = [row.mix_db or 0.0 for row in rows]
    assert values[5] - np.median(values[:5]) == pytest.approx(3.0, abs=0.35)
    # Three noises alike: they differ among each other by no more than noise does.
    assert max(abs(value or 0.0) for row in rows for value in row.references_db) < 0.6


@pytest.mark.parametrize(
    ("gain_db", "move", "setting", "sign"),
    [
        (between(10, 120, 2.6), "low_shelf", ("corner_hz", 120.0), -1),
        (between(10, 120, -2.6), "low_shelf", ("corner_hz", 120.0), 1),
        (between(5000, 30000, -3.4), "high_shelf", ("corner_hz", 5000.0), 1),
        (between(250, 500, 2.6), "bell", ("centre_hz", math.sqrt(250 * 500)), -1),
    ],
)
def test_a_broad_difference_asks_for_a_broad_move(
    gain_db: Callable[[Values], Values], move: str, setting: tuple[str, float], sign: int
) -> None:
    """Common practice, no source: 2 to 3 dB beyond all references is 1 dB the other way, Q at most 1."""
    proposals = propose(gain_db)
    (candidate,) = proposals.candidates
    name, value = setting
    assert candidate.move == move and candidate.settings[name] == pytest.approx(value)
    assert candidate.amount == sign * 1.0 and candidate.settings.get("bell_q", 0.0) <= 1.0
    assert "references" in candidate.reason and not proposals.back_to_mix


def test_a_lean_asks_for_one_tilt() -> None:
    """A line of 4.2 dB from end to end: 2 dB the other way, and no shelves besides."""
    (candidate,) = propose(lean(4.2)).candidates
    assert candidate.move == "tilt" and candidate.amount == -2.0
    assert "leans" in candidate.reason


@pytest.mark.parametrize("gain_db", [flat, between(60, 120, 1.4), lean(2.0)])
def test_what_songs_differ_by_is_left(gain_db: Callable[[Values], Values]) -> None:
    """Within 2 dB is ordinary spread (common practice, no source)."""
    proposals = propose(gain_db)
    assert proposals.candidates == () and proposals.back_to_mix == () and "leave it" in proposals.note


def test_a_large_difference_goes_back_to_the_mix() -> None:
    """Over 3 dB: a sentence with figure and place, and no move."""
    proposals = propose(between(120, 500, 5.0))
    assert proposals.candidates == ()
    (sentence,) = proposals.back_to_mix
    assert "120 Hz to 500 Hz" in sentence and "more" in sentence and "mix" in sentence


def test_a_ring_goes_back_to_the_mix() -> None:
    """12 dB more over a third octave about 1 kHz, and nothing beside it, is no balance."""
    proposals = propose(between(1000 * 10**-0.05, 1000 * 10**0.05, 12.0))
    assert proposals.candidates == ()
    assert len(proposals.back_to_mix) == 1 and "1 kHz" in proposals.back_to_mix[0]
    # Without references it is told as well, but nothing is proposed.
    alone = propose(between(1000 * 10**-0.05, 1000 * 10**0.05, 12.0), 0)
    assert alone.candidates == () and "1 kHz" in alone.back_to_mix[0] and alone.note


def test_at_most_three_moves() -> None:
    """Four places off by about 2.6 dB either way: the three that are furthest off, each once."""
    places = (
        between(20, 60, 2.6), between(120, 250, -2.9), between(500, 2000, 2.6), between(5000, 10000, -2.7),
    )  # fmt: skip
    comparison = compare(lambda hz: np.sum([place(hz) for place in places], axis=0))
    regions = find_regions(comparison.list_rows("band"))
    assert len(regions) == 4 and not any(region.for_the_mix for region in regions)
    kept = sorted((abs(region.from_middle_db) for region in regions), reverse=True)[:3]
    moves = propose_balance(comparison).candidates
    assert len({move.candidate for move in moves}) == 3
    assert all(f"{much:.1f} dB" in move.reason for much, move in zip(kept, moves, strict=True))


def test_references_that_differ_are_a_range() -> None:
    """References 3.5 dB off to either side: a mix 2.5 dB up lies among them and is left."""
    references = [
        read(make_steady(between(10, 120, 3.5), 12), "a"),
        read_reference(2),
        read(make_steady(between(10, 120, -3.5), 14), "c"),
    ]
    mix = read(make_steady(between(10, 120, 2.5), 1))
    comparison = compare_balance(mix, references)
    low, high = comparison.rows[1].range_db or (0.0, 0.0)
    # More bass is more loudness too, by a few tenths.
    assert low == pytest.approx(-3.4, abs=0.6) and high == pytest.approx(3.1, abs=0.6)
    assert propose_balance(comparison).candidates == ()


@lru_cache(maxsize=2)
def compare_plain(references: int) -> Comparison:
    """Compare a plain noise with plain noises."""
    return compare(flat, references)


def propose_for(references: int, **values_db: float) -> BalanceProposals:
    """Propose for bands that lie so far from the middle, by their names ``b0`` to ``b7``; the others lie on it."""
    rows = tuple(
        BalanceRow("band", band, 0.0, values_db.get(f"b{place}", 0.0), (-0.2, 0.0, 0.2)[:references])
        for place, band in enumerate(BANDS_HZ)
    )
    return propose_balance(replace(compare_plain(references), rows=rows))


def give_bell_db(frequencies_hz: Values, centre_hz: float, gain_db: float, q: float) -> Values:
    """Give the analogue bell of R. Bristow-Johnson's Audio EQ Cookbook: (s² + s A/Q + 1) / (s² + s/(A Q) + 1)."""
    s, a = 1j * frequencies_hz / centre_hz, 10 ** (gain_db / 40)
    return np.asarray(20 * np.log10(np.abs((s * s + s * a / q + 1) / (s * s + s / (a * q) + 1))))


def test_what_is_left_of_moves_is_the_sum_of_their_curves() -> None:
    """The Cookbook's bells in closed form: 1 dB at 354 Hz, and what a neighbour at 173 Hz leaves of it."""
    (low,), (high,) = propose_for(3, b2=2.7).candidates, propose_for(3, b3=-2.7).candidates
    hz = np.geomspace(250, 500, 2001)
    curves = [give_bell_db(hz, math.sqrt(a * b), gain, 1.0) for a, b, gain in ((120, 250, -1.0), (250, 500, 1.0))]
    assert find_left_db((high,), (250.0, 500.0)) == pytest.approx(float(curves[1].mean()), abs=0.005)
    assert find_left_db((low, high), (250.0, 500.0)) == pytest.approx(float(sum(curves).mean()), abs=0.005)


@pytest.mark.parametrize("place", range(7))
def test_neighbours_that_would_cancel_are_not_both_proposed(place: int) -> None:
    """Opposite 1 dB in bands side by side undo each other by a third or so: the larger difference gets the move."""
    proposals = propose_for(3, **{f"b{place}": 2.9, f"b{place + 1}": -2.5})
    (candidate,) = proposals.candidates
    assert candidate.amount == -1.0 and "partly cancel" in proposals.note


def test_moves_far_apart_stay() -> None:
    """Three octaves between them: both are proposed, and each leaves the other its decibel."""
    found = propose_for(3, b2=2.9, b5=-2.7)
    assert [each.amount for each in found.candidates] == [-1.0, 1.0] and found.note == ""


@pytest.mark.parametrize("references", [1, 2])
def test_few_references_get_one_move_and_why_is_said(references: int) -> None:
    """One or two songs are a taste: the largest difference only; common practice, no source."""
    found = propose_for(references, b2=2.9, b5=-2.7)
    (candidate,) = found.candidates
    assert candidate.move == "bell" and candidate.amount == -1.0
    assert "three or more" in found.note


def test_a_proposed_move_brings_the_mix_nearer() -> None:
    """The candidate, rendered over the whole song, takes about 1 dB off the distance."""
    clip = make_steady(between(10, 120, 2.7), 1)
    comparison = compare_balance(read(clip), [read_reference(seed) for seed in (2, 3, 4)])
    (candidate,) = propose_balance(comparison).candidates
    measured = measure_candidate(clip, candidate)
    assert measured.results["gain_db"] == pytest.approx(-1.0, abs=0.05)
    assert {"loudness_change_lu", "true_peak_change_db"} <= set(measured.results)
    after = read(render_song(clip, (Step(candidate.move, candidate.settings),)))
    nearer = compare_balance(after, comparison.references)
    assert (comparison.rows[0].mix_db or 0.0) - (nearer.rows[0].mix_db or 0.0) == pytest.approx(1.0, abs=0.25)


def test_width_and_density_are_told() -> None:
    """Sides of 0.9 against 0.5 of the middle: 5.1 dB wider (closed form).

    The highest of 300 000 normally distributed values is about 5 times their RMS value, √(2 ln n): 14 dB over the
    level of a channel, 11 dB over that of two, which loudness sums up.
    """
    mix = read(make_steady(seed=1, side=0.9))
    comparison = compare_balance(mix, [read_reference(seed) for seed in (2, 3, 4)])
    for row in comparison.list_rows("width"):
        assert row.mix_db == pytest.approx(20 * math.log10(0.9 / 0.5), abs=0.8)
    assert any(sentence.startswith("Wider") for sentence in word_rows(comparison))
    assert comparison.list_rows("peaks")[0].middle_db == pytest.approx(11.0, abs=1.0)
    assert [name_band(band) for band in BANDS_HZ][4] == "0.5–2 kHz"
    assert all(name_row(row) for row in comparison.rows)


def test_what_cannot_be_a_reference_is_refused_with_a_line() -> None:
    """Silent, too short, the mix once more (as a file, and as the same song pushed), a reference twice."""
    clip = make_steady(seed=1)
    mix = read(clip, "mix", sha256="ab")
    louder = clip.with_samples(np.tanh(3 * clip.samples[RATE_HZ:]))
    references = [
        read(Clip(np.zeros((20 * RATE_HZ, 2), np.float32), RATE_HZ), "silence"),
        read(make_steady(seed=5, length_s=6.0), "short"),
        read(clip, "copy", sha256="ab"),
        read(louder, "pushed"),
        read_reference(2),
        read_reference(2),
    ]
    comparison = compare_balance(mix, references)
    lines = [str(line) for line in comparison.refused]
    assert len(comparison.references) == 1
    for line, part in zip(lines, ("loudness_lufs", "duration_s", "sha256", "correlation", "correlation"), strict=True):
        assert part in line and "expected" in line


def test_warnings_and_bounds() -> None:
    """Coded and mono references are compared, and that is said; eleven, or a silent mix, are not."""
    mono = make_steady(seed=6, side=0.0)
    comparison = compare_balance(
        read(make_steady(seed=1)), [read(make_steady(seed=5), "coded", True), read(mono, "mono")]
    )
    words = " ".join(comparison.warnings)
    assert "coded is a coded file" in words and "mono has no sides" in words and "Two references" in words
    assert comparison.list_rows("width")[3].references_db[1] is None
    with pytest.raises(BadValue, match="at most 10"):
        compare_balance(read_reference(2), [read_reference(3)] * 11)
    with pytest.raises(BadValue, match="sound to compare"):
        compare_balance(read(Clip(np.zeros((20 * RATE_HZ, 2), np.float32), RATE_HZ)), [])
    alone = compare_balance(read_reference(2), [])
    assert all(row.middle_db is None and row.outside_db == 0 for row in alone.rows)
    assert alone.rows[0].mix_db == read_reference(2).bands_db[0]
