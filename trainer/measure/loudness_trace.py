"""Loudness in its course: momentary, short-term, integrated, and the loudness range, from one pass in blocks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure import standards
from trainer.measure.loudness import gate_blocks
from trainer.measure.steps import STEP_S, Wave, block_frames, count_step_frames, multiply_steps
from trainer.measure.weighting import design_k_weighting

BLOCK_HOP = round(standards.BLOCK_STEP_S / STEP_S)


@dataclass(frozen=True)
class LoudnessTrace:
    """Hold K-weighted power in steps of 10 ms, from which every loudness follows.

    Parameters
    ----------
    power : ndarray of float64, shape (steps,)
        Weighted mean square of each whole step, summed over channels.

    Notes
    -----
    ITU-R BS.1770-5, Annex 1; EBU Tech 3341 and Tech 3342. Maxima are read every 10 ms, as Tech 3341 cases 13 and 14
    need; the integrated loudness every 100 ms, as BS.1770 defines it.
    """

    power: Wave

    @property
    def integrated_lufs(self) -> float:
        """Gated loudness, LUFS; minus infinity where nothing passes the gates."""
        return gate_blocks(self._slide(standards.BLOCK_S)[::BLOCK_HOP])

    @property
    def loudness_range_lu(self) -> float | None:
        """Loudness range, LU; None where no short-term value passes the absolute gate."""
        return measure_loudness_range(self._slide(standards.SHORT_TERM_S)[::BLOCK_HOP])

    @property
    def momentary_lufs(self) -> Wave:
        """Momentary loudness at the end of each 400 ms, every 10 ms, LUFS."""
        return to_lufs(self._slide(standards.BLOCK_S))

    @property
    def short_term_lufs(self) -> Wave:
        """Short-term loudness at the end of each 3 s, every 10 ms, LUFS."""
        return to_lufs(self._slide(standards.SHORT_TERM_S))

    @property
    def max_momentary_lufs(self) -> float | None:
        """Highest momentary loudness, LUFS; None under 400 ms."""
        return _highest(self.momentary_lufs)

    @property
    def max_short_term_lufs(self) -> float | None:
        """Highest short-term loudness, LUFS; None under 3 s."""
        return _highest(self.short_term_lufs)

    def _slide(self, length_s: float) -> Wave:
        """Mean power of every stretch of a length, a step apart."""
        width = round(length_s / STEP_S)
        if self.power.size < width:
            return np.zeros(0)
        total = np.concatenate([[0.0], np.cumsum(self.power)])
        return np.asarray(np.maximum(total[width:] - total[:-width], 0.0) / width)


class LoudnessMeter:
    """Weigh blocks of a file and keep their power, so that a file of any length is read in little memory.

    Parameters
    ----------
    rate_hz, channels : int
        Of the file.
    weights : sequence of float, optional
        Weight of each channel's power; 1.0 if not given.
    """

    def __init__(self, rate_hz: int, channels: int, weights: Sequence[float] | None = None) -> None:
        self.rate_hz = rate_hz
        self._weights = np.ones(channels) if weights is None else np.asarray(weights, dtype=np.float64)
        self._sections = design_k_weighting(rate_hz).copy()  # scipy.signal.sosfilt asks for a writable array
        self._state = np.zeros((2, channels, 2))
        self._power: list[Wave] = []
        self._cross: list[Wave] = []
        self._frames = 0

    def add(self, block: npt.NDArray[np.floating]) -> None:
        """Take the next block, shape (channels, frames): whole 5 s, save the last."""
        if block.shape[1] == 0:
            return
        wave = np.ascontiguousarray(block, dtype=np.float64)
        weighted, self._state = scipy.signal.sosfilt(self._sections, wave, axis=-1, zi=self._state)
        self._power.append(multiply_steps(weighted, weighted, self.rate_hz))
        if block.shape[0] == 2:
            self._cross.append(multiply_steps(weighted[:1], weighted[1:], self.rate_hz)[0])
        self._frames += block.shape[1]

    def finish(self) -> LoudnessTrace:
        """Give the trace of all channels together."""
        return LoudnessTrace(self._average(self._weights @ self._join()))

    def finish_mono(self) -> LoudnessTrace:
        """Give the trace of the mono sum, (left + right) / 2 on both sides."""
        power = self._join().sum(axis=0) + 2 * np.concatenate([np.zeros(0), *self._cross])
        return LoudnessTrace(self._average(np.maximum(power, 0.0) / 2))

    def _join(self) -> Wave:
        """Sums of each channel and step, shape (channels, steps)."""
        return np.concatenate([np.zeros((self._weights.size, 0)), *self._power], axis=1)

    def _average(self, sums: Wave) -> Wave:
        """Mean over each whole step; a last part step is left out."""
        frames = count_step_frames(self._frames, self.rate_hz)
        whole = int(self._frames * 100 // self.rate_hz)
        return sums[:whole] / frames[:whole]


def measure_loudness_trace(
    samples: npt.NDArray[np.floating], rate_hz: int, weights: Sequence[float] | None = None
) -> LoudnessTrace:
    """Measure the loudness of a whole sound in its course.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The sound.
    rate_hz : int
        Sampling rate.
    weights : sequence of float, optional
        Weight of each channel's power, as `standards.SURROUND_WEIGHTS`; 1.0 if not given.

    Returns
    -------
    LoudnessTrace
    """
    meter = LoudnessMeter(rate_hz, samples.shape[1], weights)
    length = block_frames(rate_hz)
    for first in range(0, max(samples.shape[0], 1), length):
        meter.add(samples[first : first + length].T)
    return meter.finish()


def measure_loudness_range(short_term_power: Wave) -> float | None:
    """Measure the loudness range of short-term powers taken every 100 ms, LU; None if all are under the gate.

    Notes
    -----
    EBU Tech 3342: between the 10th and the 95th percentile of what passes −70 LUFS and is at most 20 LU below the
    energy mean of that; percentiles by nearest rank, as in the code of the document.
    """
    floor = 10 ** ((standards.ABSOLUTE_GATE_LUFS - standards.LOUDNESS_OFFSET_DB) / 10)
    loud = short_term_power[short_term_power >= floor]
    if loud.size == 0:
        return None
    gate = float(loud.mean()) * 10 ** (standards.RANGE_GATE_LU / 10)
    kept = np.sort(loud[loud >= gate])
    low, high = (kept[round((kept.size - 1) * part)] for part in standards.RANGE_PERCENTILES)
    return float(10 * np.log10(high / low))


def to_lufs(power: Wave) -> Wave:
    """Convert weighted mean squares to LUFS; minus infinity for nothing."""
    with np.errstate(divide="ignore"):
        return np.asarray(standards.LOUDNESS_OFFSET_DB + 10 * np.log10(power))


def _highest(lufs: Wave) -> float | None:
    return float(lufs.max()) if lufs.size else None
