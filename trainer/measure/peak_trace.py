"""Peaks in their course: sample peak and true peak of each channel, and the offset from zero, in one pass."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trainer.measure.interpolation import STRETCH, Filters, design_interpolator, find_peaks_in_stretches
from trainer.measure.steps import STEP_S, Wave, peak_steps
from trainer.measure.true_peak import (
    COARSE_DOUBT_DB,
    COARSE_PHASES,
    FINE_PHASES,
    LONG_BETA,
    LONG_TAPS,
    SHORT_DOUBT_DB,
    choose_short_interpolator,
)

# Neighbours that the interpolation needs on either side of a frame.
CONTEXT = 128
# Below this magnitude a true peak is of no interest.
QUIET = 1e-4
# The wave is read where the samples beside it come this near to the highest so far. Between the samples it is higher
# by 3 dB at fs/4, and by no more than 7.3 dB on the short filter whatever the samples are.
NEAR_DB = 8.0

Peaks = npt.NDArray[np.float32]


@dataclass(frozen=True)
class PeakTrace:
    """Hold the peaks of each channel in steps of 10 ms.

    Parameters
    ----------
    sample, true : ndarray of float32, shape (channels, steps)
        Highest magnitudes of the samples and of the wave between them; full scale is 1.0. True peaks are exact near
        the highest so far and above full scale; elsewhere they may be those of the samples.
    offset : tuple of float
        Mean of each channel.
    """

    sample: Peaks
    true: Peaks
    offset: tuple[float, ...]

    @property
    def sample_peak_dbfs(self) -> float:
        """Highest sample magnitude, dBFS; minus infinity for silence."""
        return to_db(float(self.sample.max(initial=0.0)))

    @property
    def true_peak_dbtp(self) -> float:
        """Highest magnitude of the wave, dBTP; minus infinity for silence."""
        return to_db(float(self.true.max(initial=0.0)))

    @property
    def highest_s(self) -> float:
        """Where the true peak is highest, s."""
        return float(self.true.max(axis=0).argmax()) * STEP_S if self.true.size else 0.0


class PeakMeter:
    """Read peaks block by block; blocks overlap by what the interpolation needs.

    Parameters
    ----------
    rate_hz, channels : int
        Of the file.
    only_highest : bool
        Whether nothing but the highest peak and those over full scale is asked for: they come out the same, and
        sooner; the others may be those of the samples.
    """

    def __init__(self, rate_hz: int, channels: int, only_highest: bool = False) -> None:
        self.rate_hz, self._only_highest = rate_hz, only_highest
        self._tail = np.zeros((channels, 2 * CONTEXT), dtype=np.float32)
        self._sample: list[npt.NDArray[np.floating]] = []
        self._true = np.zeros((channels, 0), dtype=np.float32)
        self._sum: Wave = np.zeros(channels)
        self._frames, self._highest = 0, QUIET

    def add(self, block: Peaks) -> None:
        """Take the next block, shape (channels, frames): whole 5 s, save the last."""
        magnitudes = np.abs(block)
        self._sample.append(peak_steps(magnitudes, self.rate_hz))
        self._highest = max(self._highest, float(magnitudes.max(initial=0.0)))
        self._sum += block.sum(axis=1, dtype=np.float64)
        self._follow(block)
        self._frames += block.shape[1]

    def finish(self) -> PeakTrace:
        """Read the end with silence behind it, and give the trace."""
        self._follow(np.zeros((self._tail.shape[0], 2 * CONTEXT), dtype=np.float32))
        sample = np.concatenate(self._sample, axis=1).astype(np.float32)
        count = sample.shape[1]
        read = np.pad(self._true, ((0, 0), (0, max(0, count - self._true.shape[1]))))
        true = np.maximum(read[:, :count], sample)
        # What swings behind the last frame belongs to the last step.
        true[:, -1:] = np.maximum(true[:, -1:], read[:, count:].max(axis=1, initial=0.0, keepdims=True))
        return PeakTrace(sample, true, tuple((self._sum / max(self._frames, 1)).tolist()))

    def _follow(self, block: Peaks) -> None:
        """Read the wave of what has its neighbours on both sides by now, where it may be high."""
        joined = np.concatenate([self._tail, block], axis=1)
        self._tail = joined[:, -2 * CONTEXT :]
        frames = joined.shape[1] - 2 * CONTEXT
        for channel, row in enumerate(joined):
            stretches = _list_tall(row, min(self._highest, 1.0) * 10 ** (-NEAR_DB / 20))
            if self._only_highest and stretches.size:
                stretches = stretches[_bound(row, stretches, self.rate_hz) >= min(self._highest, 1.0)]
            if stretches.size == 0:
                continue
            peaks = _read_stretches(row, stretches, self.rate_hz, self._highest)
            places = (stretches[:, None] * STRETCH + np.arange(STRETCH)).reshape(-1)
            inside = places < frames
            self._highest = max(self._highest, float(peaks.max()))
            self._keep(channel, peaks.reshape(-1)[inside], places[inside] + self._frames - CONTEXT)

    def _keep(self, channel: int, peaks: Peaks, frames: npt.NDArray[np.int_]) -> None:
        """Enter the peaks of frames into their steps; what swings before the file belongs to the first."""
        steps = np.maximum((frames * 100 + 99) // self.rate_hz, 0)
        changes = np.concatenate([[0], np.flatnonzero(np.diff(steps)) + 1])
        last = int(steps[-1]) + 1
        if last > self._true.shape[1]:
            grown = np.zeros((self._true.shape[0], max(last, 2 * self._true.shape[1])), dtype=np.float32)
            grown[:, : self._true.shape[1]] = self._true
            self._true = grown
        row, places = self._true[channel], steps[changes]
        row[places] = np.maximum(row[places], np.maximum.reduceat(peaks, changes))


def _list_tall(row: Peaks, near: float) -> npt.NDArray[np.int_]:
    """List the stretches of a row, without its outer contexts, in or beside which a sample reaches a magnitude."""
    count = -(-(row.size - 2 * CONTEXT) // STRETCH)
    padded = np.zeros((count + 2) * STRETCH, dtype=np.float32)
    inside = row[CONTEXT - STRETCH :][: padded.size]
    padded[: inside.size] = inside
    parts = padded.reshape(count + 2, STRETCH)
    tall = np.maximum(parts.max(axis=1), -parts.min(axis=1)) >= near
    return np.flatnonzero(tall[:-2] | tall[1:-1] | tall[2:])


def _bound(row: Peaks, stretches: npt.NDArray[np.int_], rate_hz: int) -> Peaks:
    """Give what no reading can exceed in some stretches.

    Every phase is a weighing of the two samples beside it, and of second differences around them (summation by parts).
    """
    inside = row[CONTEXT - STRETCH :]
    count = -(-inside.size // STRETCH) + 1
    heights, bends = (np.zeros(count * STRETCH, dtype=np.float32) for _ in range(2))
    np.abs(inside, out=heights[: inside.size])
    np.abs(np.diff(inside, 2), out=bends[1 : inside.size - 1])
    tops, bent = (values.reshape(count, STRETCH).max(axis=1) for values in (heights, bends))
    places = stretches + 1
    after, before = (places + 1) * STRETCH, places * STRETCH - 1
    beside = np.maximum.reduce([tops[places], heights[before], heights[after], heights[after + 1]])
    near = np.maximum(np.maximum(bent[places - 1], bent[places]), bent[places + 1])
    plain, bending = _weigh_readings(rate_hz)
    return np.asarray(plain * beside + bending * near, dtype=np.float32)


@lru_cache(maxsize=8)
def _weigh_readings(rate_hz: int) -> tuple[float, float]:
    """Weigh two neighbours and the second differences around them in any reading, at the most."""
    long = [design_interpolator(phases, LONG_TAPS, LONG_BETA) for phases in (COARSE_PHASES, FINE_PHASES)]
    plain = bending = 0.0
    for taps in (
        taps.astype(np.float64) for filters in (choose_short_interpolator(rate_hz), *long) for taps in filters
    ):
        # The two samples are the frame and the next one, or one before or behind these, as the filter is padded.
        own = taps.size // 2 - 1
        whole, centre = float(taps.sum()), float(taps @ np.arange(taps.size)) / float(taps.sum())
        middle = min(max(math.floor(centre), own - 1), own + 1)
        moment = whole * (centre - middle)
        rest = taps.copy()
        rest[middle] -= whole - moment
        rest[middle + 1] -= moment
        plain = max(plain, abs(whole - moment) + abs(moment))
        bending = max(bending, float(np.abs(np.cumsum(np.cumsum(rest))).sum()))
    # A hair more, as it is worked out in other steps than the reading itself.
    return 1.0001 * plain, 1.0001 * bending


def _read_stretches(row: Peaks, stretches: npt.NDArray[np.int_], rate_hz: int, highest: float) -> Peaks:
    """Read stretches short, and long where they may be the highest so far, shape (stretches, STRETCH)."""
    peaks = _interpolate(row, choose_short_interpolator(rate_hz), stretches)
    near = np.flatnonzero(peaks.max(axis=1) >= highest * 10 ** (-SHORT_DOUBT_DB / 20))
    long = _interpolate(row, design_interpolator(COARSE_PHASES, LONG_TAPS, LONG_BETA), stretches[near])
    again = np.flatnonzero(long.max(axis=1, initial=0.0) >= highest * 10 ** (-COARSE_DOUBT_DB / 20))
    fine = design_interpolator(FINE_PHASES, LONG_TAPS, LONG_BETA)
    long[again] = _interpolate(row, fine, stretches[near[again]])
    peaks[near] = np.maximum(peaks[near], long)
    return peaks


def _interpolate(row: Peaks, filters: Filters, stretches: npt.NDArray[np.int_]) -> Peaks:
    """Read stretches, counted from behind the row's first context, with an interpolator."""
    return find_peaks_in_stretches(row[CONTEXT - (filters.shape[1] // 2 - 1) :], filters, stretches)


def to_db(magnitude: float) -> float:
    """Convert a magnitude to dB; minus infinity for 0."""
    return 20 * float(np.log10(magnitude)) if magnitude > 0 else -np.inf
