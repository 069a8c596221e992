"""What really differs between two bounces, in figures."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.decisions.bounce_faults import FaultCount, compare_faults
from trainer.decisions.bounce_residuals import Residuals
from trainer.decisions.bounces import Heard, find_common_s, follow_loudness
from trainer.dsp.stereo.sides import measure_sides
from trainer.measure.hits import find_hits, measure_hits_over_song
from trainer.measure.residual import Residual
from trainer.measure.standards import THIRD_OCTAVE_INDICES, third_octave_edges_hz

# Below this a band holds nothing that could be compared, dBFS.
EMPTY_DBFS = -100.0
# What is left is said to be level and no more where it is so far below the song, or as soft as the dither of 16 bits
# and far below it. Measured on the demo songs: words of 16 bits with and without dither, also after a gain, leave
# −68 dB or less (−48 dB of copies 26 dB softer), and never more than −93 dBFS; the smallest real changes that were
# tried (a shelf of 0.1 dB at 8 kHz, 0.1 % of distortion, MP3 at 320 kb/s) −61 dB or more, and −80 dBFS or more.
SAME_BELOW_SONG_DB = -66.0
DITHER_DBFS, DITHER_BELOW_SONG_DB = -92.0, -45.0
SOFTEST_S = 0.4


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


def compare_all(heard: tuple[Heard, ...]) -> tuple[Difference, ...]:
    """Compare every two of some bounces, all cut to one common part and one stretch."""
    bounds = find_common_s(tuple(one.bounce for one in heard))
    traces = [follow_loudness(one.bounce, *bounds) for one in heard]
    lines = [_read_bands(one.matched.loop) for one in heard]
    residuals = Residuals(heard)
    hits = [find_hits(one.matched.loop.samples, one.matched.loop.rate_hz) for one in heard]
    found = []
    for a in range(len(heard)):
        for b in range(a + 1, len(heard)):
            first, second = heard[a], heard[b]
            only_a, only_b = compare_faults(first, second, bounds[0])
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


def _subtract(first: float | None, second: float | None) -> float | None:
    return None if first is None or second is None else second - first
