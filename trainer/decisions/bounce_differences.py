"""What really differs between two bounces, in figures."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import firwin, oaconvolve

from trainer.audio.clip import Clip
from trainer.decisions.bounces import Bounce, find_common_s, follow_loudness
from trainer.dsp.matching import MatchedLoop
from trainer.dsp.stereo.sides import measure_sides
from trainer.measure.faults.finding import Finding
from trainer.measure.hits import find_hits, measure_hits_over_song
from trainer.measure.residual import Residual, measure_residual
from trainer.measure.standards import THIRD_OCTAVE_INDICES, third_octave_edges_hz
from trainer.units import db_to_gain

# Below this a band holds nothing that could be compared, dBFS.
EMPTY_DBFS = -100.0
# What is left is said to be level and no more where it is so far below the song, or as soft as the dither of 16 bits
# and far below it. Measured on the demo songs: words of 16 bits with and without dither, also after a gain, leave
# −68 dB or less, and never more than −93 dBFS; the smallest real changes that were tried (a shelf of 0.1 dB at 8 kHz,
# 0.1 % of distortion, MP3 at 320 kb/s) −60 dB or more, and −80 dBFS or more.
SAME_BELOW_SONG_DB = -66.0
DITHER_DBFS, DITHER_BELOW_SONG_DB = -92.0, -45.0
SOFTEST_S = 0.4
# Where rates differ, the residual is read below so much of the lowest rate.
LIMIT_SHARE, LIMIT_TAPS, LIMIT_BETA = 0.43, 255, 9.0
STEADY = ("hum", "hiss", "dc", "head_noise", "abrupt_start", "abrupt_end")
SAME_PLACE_S = 0.05
# A scan that finds clicks from 8 dB on may miss a weaker one in the other file by a hair.
CLEAR_DB = {"click": 15.0}
# At these the two have to differ by half of the louder one within a hundredth of a second.
MOMENTS, MOMENT_S, LEAST_CHANGE = ("click", "pop"), 0.005, 0.5


@dataclass(frozen=True)
class BandDifference:
    """Say by how much more the second holds in a band.

    Parameters
    ----------
    low_hz, high_hz : float
        The band.
    difference_db : float or None
        dB; None where neither holds anything.
    level_db : float
        Level of the one that holds more, against all of it.
    """

    low_hz: float
    high_hz: float
    difference_db: float | None
    level_db: float


@dataclass(frozen=True)
class FaultCount:
    """Sum up the faults of one kind that only one of two bounces has; places in s of its own file."""

    kind: str
    count: int
    first_s: float
    strongest: float
    unit: str


@dataclass(frozen=True)
class Difference:
    """Hold what differs between two bounces; every figure is the second's less the first's.

    Parameters
    ----------
    a, b : int
        Their numbers in the list.
    residual : Residual
        What is left of the second without the first, at the best gain, on all that they have in common; on the
        stretch where their clocks differ.
    residual_below_hz : float or None
        Where one was converted from another rate: up to where the residual was read, 0.43 of the lower rate.
    bands : tuple of BandDifference
        Third octaves of the stretch, equally loud.
    peak_to_loudness_db : float or None
        True peak over integrated loudness, of the files.
    stretch_peak_db : float
        True peak of the stretch, equally loud.
    hits_db : float or None
        Peaks of the drum hits over the song, on the stretch; None without hits.
    side_db : float or None
        Level of the sides against the middle, on the stretch; None where one of them has no sides or no middle.
    softest_db : float or None
        Level of the softest moment, equally loud: the noise floor, or the end of a reverb.
    faults_a, faults_b : tuple of FaultCount
        Faults that only the first, only the second has.
    """

    a: int
    b: int
    residual: Residual
    residual_below_hz: float | None
    bands: tuple[BandDifference, ...]
    peak_to_loudness_db: float | None
    stretch_peak_db: float
    hits_db: float | None
    side_db: float | None
    softest_db: float | None
    faults_a: tuple[FaultCount, ...]
    faults_b: tuple[FaultCount, ...]

    @property
    def level_only(self) -> bool:
        """Whether the two are the same apart from level."""
        left = self.residual
        dithered = left.level_dbfs <= DITHER_DBFS and left.below_song_db <= DITHER_BELOW_SONG_DB
        return left.below_song_db <= SAME_BELOW_SONG_DB or dithered


@dataclass(frozen=True)
class Heard:
    """Hold a bounce, what it has in common with the others, and the matched stretch."""

    bounce: Bounce
    common: Clip
    matched: MatchedLoop


def compare_all(heard: tuple[Heard, ...]) -> tuple[Difference, ...]:
    """Compare every two of some bounces, all cut to one common part and one stretch."""
    bounds = find_common_s(tuple(one.bounce for one in heard))
    traces = [follow_loudness(one.bounce, *bounds) for one in heard]
    lines = [_read_bands(one.matched.loop) for one in heard]
    residuals = _Residuals(heard)
    hits = [find_hits(one.matched.loop.samples, one.matched.loop.rate_hz) for one in heard]
    found = []
    for a in range(len(heard)):
        for b in range(a + 1, len(heard)):
            first, second = heard[a], heard[b]
            only_a, only_b = _compare_faults(first, second, bounds[0])
            found.append(
                Difference(
                    a,
                    b,
                    *residuals.measure(a, b),
                    _compare_bands(lines[a], lines[b]),
                    _subtract(*(one.bounce.evidence.programme.dynamics.peak_to_loudness_db for one in (first, second))),
                    second.matched.true_peak_dbtp - first.matched.true_peak_dbtp,
                    _compare_hits(first.matched.loop, second.matched.loop, hits[a] | hits[b]),
                    _subtract(*(_side_over_middle(one.matched.loop) for one in (first, second))),
                    _compare_softest(traces[a], traces[b], second.matched.gain_db - first.matched.gain_db),
                    only_a,
                    only_b,
                )
            )
    return tuple(found)


class _Residuals:
    """Measure what is left of pairs; a part that was limited once is kept."""

    def __init__(self, heard: tuple[Heard, ...]) -> None:
        self._heard = heard
        self._limited: dict[tuple[int, float], Clip] = {}

    def measure(self, a: int, b: int) -> tuple[Residual, float | None]:
        """Measure on all that is common; clocks that differ leave only the stretch in step. Gives the limit, Hz, too."""
        first, second = self._heard[a], self._heard[b]
        if first.bounce.alignment.drift_ppm or second.bounce.alignment.drift_ppm:
            return measure_residual(first.matched.loop.samples, second.matched.loop.samples), None
        limit_hz = _find_limit(first.bounce, second.bounce)
        parts = [self._limit(index, limit_hz).samples for index in (a, b)]
        return measure_residual(*parts), limit_hz

    def _limit(self, index: int, limit_hz: float | None) -> Clip:
        """Keep of a common part what lies below a limit."""
        common = self._heard[index].common
        if limit_hz is None:
            return common
        if (index, limit_hz) not in self._limited:
            taps = firwin(LIMIT_TAPS, limit_hz, window=("kaiser", LIMIT_BETA), fs=common.rate_hz)
            row = np.asarray(taps, dtype=np.float32)[:, None]
            low = common.with_samples(oaconvolve(common.samples, row, mode="same", axes=0))
            self._limited[index, limit_hz] = low
        return self._limited[index, limit_hz]


def _find_limit(first: Bounce, second: Bounce) -> float | None:
    """Find up to where both rates reach, Hz; None where nothing was converted."""
    if not (first.rate_converted or second.rate_converted):
        return None
    rates = [one.evidence.form.sample_rate_hz for one in (first, second)]
    return LIMIT_SHARE * min(*rates, first.clip.rate_hz)


def _read_bands(loop: Clip) -> tuple[tuple[float, float, float], ...]:
    """Mean square of each third octave of a loop, which is periodic; low and high edge first."""
    lines = np.abs(np.fft.rfft(loop.samples.astype(np.float64), axis=0)) ** 2
    total = np.concatenate([[0.0], np.cumsum(lines.mean(axis=1))]) * 2 / float(loop.frames) ** 2
    edges = [third_octave_edges_hz(index) for index in THIRD_OCTAVE_INDICES]
    places = [[math.ceil(edge * loop.frames / loop.rate_hz) for edge in pair] for pair in edges]
    return tuple(
        (low, high, float(total[last] - total[first]))
        for (low, high), (first, last) in zip(edges, places, strict=True)
        if high < loop.rate_hz / 2
    )


def _compare_bands(
    a: tuple[tuple[float, float, float], ...], b: tuple[tuple[float, float, float], ...]
) -> tuple[BandDifference, ...]:
    """Compare bands in level; what is empty counts as just that."""
    floor = 10 ** (EMPTY_DBFS / 10)
    whole = max(sum(power for _, _, power in bands) for bands in (a, b))
    found = []
    for (low, high, was), (_, _, became) in zip(a, b, strict=True):
        both = 10 * math.log10(max(became, floor) / max(was, floor))
        level_db = 10 * math.log10(max(was, became, floor) / max(whole, floor))
        found.append(BandDifference(low, high, both if max(was, became) > floor else None, level_db))
    return tuple(found)


def _compare_hits(first: Clip, second: Clip, hits: npt.NDArray[np.bool_]) -> float | None:
    """Compare how far hits stand over the song, at the places of both."""
    return _subtract(*(measure_hits_over_song(loop.samples, loop.rate_hz, hits) for loop in (first, second)))


def _side_over_middle(loop: Clip) -> float | None:
    over = measure_sides(loop).side_over_middle_db
    return over if math.isfinite(over) else None


def _compare_softest(a: npt.NDArray[np.float64], b: npt.NDArray[np.float64], gain_db: float) -> float | None:
    """Compare the softest 0.4 s of both that is not silent in either, at the gain of the match."""
    width = round(SOFTEST_S / 0.01)
    floors = []
    for power in (a, b):
        total = np.concatenate([[0.0], np.cumsum(power)])
        floors.append(np.maximum(total[width:] - total[:-width], 0.0) / width)
    sounding = (floors[0] > 1e-14) & (floors[1] > 1e-14)
    if not sounding.any():
        return None
    softest = [10 * math.log10(float(floor[sounding].min())) for floor in floors]
    return softest[1] - softest[0] + gain_db


def _compare_faults(
    first: Heard, second: Heard, start_s: float
) -> tuple[tuple[FaultCount, ...], tuple[FaultCount, ...]]:
    """Sum up the faults that one has and the other has not at the same place of the song."""
    faults = [one.bounce.evidence.scan.faults for one in (first, second)]
    places = [
        [_place(one.bounce, fault) for fault in found] for one, found in zip((first, second), faults, strict=True)
    ]

    def differs(place: tuple[str, float]) -> bool:
        return place[0] not in MOMENTS or _differ_at(first, second, place[1] - start_s)

    return _leave_out(faults[0], places[0], places[1], differs), _leave_out(faults[1], places[1], places[0], differs)


def _differ_at(first: Heard, second: Heard, at_s: float) -> bool:
    """Tell whether two bounces, equally loud, differ in what is quick at a moment; outside the common part they do.

    A scan may find a sharp hit in one that it passes over in the other by a hair: that is no difference.
    """
    rate_hz = first.common.rate_hz
    around, half = round(at_s * rate_hz), round(MOMENT_S * rate_hz)
    if not half + 2 <= around < first.common.frames - half - 2:
        return True
    quick = [
        np.diff(one.common.samples[around - half : around + half].astype(np.float64) * db_to_gain(gain_db), 2, axis=0)
        for one, gain_db in ((first, first.matched.gain_db), (second, second.matched.gain_db))
    ]
    highest = max(float(np.abs(wave).max()) for wave in quick)
    return float(np.abs(quick[1] - quick[0]).max()) > LEAST_CHANGE * highest


def _place(bounce: Bounce, fault: Finding) -> tuple[str, float]:
    """Kind and place of a fault in the first bounce's time; what is steady has none."""
    if fault.kind in STEADY:
        return fault.kind, 0.0
    place = bounce.alignment
    frame = fault.start_s * bounce.clip.rate_hz - place.offset_frames
    return fault.kind, frame / (1 + 1e-6 * place.drift_ppm) / bounce.clip.rate_hz


def _leave_out(
    faults: tuple[Finding, ...],
    places: list[tuple[str, float]],
    others: list[tuple[str, float]],
    differs: Callable[[tuple[str, float]], bool],
) -> tuple[FaultCount, ...]:
    """Leave out what the other bounce has too, and sum up the rest by kind."""
    known: dict[str, npt.NDArray[np.float64]] = {
        kind: np.array([at_s for name, at_s in others if name == kind]) for kind in {name for name, _ in others}
    }
    rest = [
        fault
        for fault, (kind, at_s) in zip(faults, places, strict=True)
        if fault.strength >= CLEAR_DB.get(kind, -math.inf)
        and (kind not in known or float(np.abs(known[kind] - at_s).min()) > SAME_PLACE_S)
        and differs((kind, at_s))
    ]
    return tuple(_count(kind, [fault for fault in rest if fault.kind == kind]) for kind in _kinds(rest))


def _kinds(faults: Iterable[Finding]) -> list[str]:
    return sorted({fault.kind for fault in faults})


def _count(kind: str, faults: list[Finding]) -> FaultCount:
    strongest = max(faults, key=lambda fault: fault.strength)
    return FaultCount(kind, len(faults), min(fault.start_s for fault in faults), strongest.strength, strongest.unit)


def _subtract(first: float | None, second: float | None) -> float | None:
    return None if first is None or second is None else second - first
