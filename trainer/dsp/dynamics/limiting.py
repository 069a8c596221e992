"""The limiter's parts: the envelope between the samples, the reduction over time, and the gain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.dsp.dynamics.recovery import decay_coefficient, decaying_maximum, hold_and_release
from trainer.dsp.processor import Rows
from trainer.measure.interpolation import design_interpolator, find_peaks_between

STEP_FRAMES = 8
LOOK_AHEAD_S = 0.003
PHASES, TAPS, BETA = 4, 32, 6.0
BEFORE, AFTER = TAPS // 2 - 1, TAPS // 2
# Four phases may miss a little of a peak; what this does not cover, `hold_ceiling` does.
GUARD_DB = 0.1
SLOW_AVERAGE_S = 0.12

Trace = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Timing:
    """Times of a limiter, s; ``slow_release_s`` carries what has been held down for longer."""

    release_s: float
    slow_release_s: float


def follow_envelope_db(samples: npt.NDArray[np.floating], rate_hz: int) -> Trace:
    """Follow the true peak over steps of eight frames.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The sound, with silence around it.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of float64, shape (ceil(frames / 8),)
        dB re full scale; −200 for silence.
    """
    spare = -samples.shape[0] % STEP_FRAMES
    return read_envelope_db(np.pad(samples.T.astype(np.float32), ((0, 0), (BEFORE, AFTER + spare))))


def read_envelope_db(rows: npt.NDArray[np.floating]) -> Trace:
    """Read the envelope of whole steps from rows with ``BEFORE`` and ``AFTER`` frames of context; dB."""
    filters = design_interpolator(PHASES, TAPS, BETA)
    peaks = np.zeros(rows.shape[1] - BEFORE - AFTER, dtype=np.float32)
    for row in rows:
        np.maximum(peaks, find_peaks_between(row, filters), out=peaks)
    steps = peaks.reshape(-1, STEP_FRAMES).max(axis=1)
    return np.asarray(20 * np.log10(np.maximum(steps, 1e-10)), dtype=np.float64)


def shape_reduction(envelope_db: Trace, ceiling_db: float, timing: Timing, rate_hz: int) -> Trace:
    """Shape the gain reduction that keeps an envelope below a ceiling.

    Parameters
    ----------
    envelope_db : ndarray, shape (steps,)
        Peaks of the driven sound, dB.
    ceiling_db : float
        Where they have to end, dB.
    timing : Timing
        Release times.
    rate_hz : int
        Sampling rate of the sound.

    Returns
    -------
    ndarray of float64, shape (steps,)
        Reduction at the beginning of each step, dB, 0 or more.
    """
    shaper = Shaper(ceiling_db, timing, rate_hz)
    silence = np.full(shaper.late_steps, -200.0)
    return shaper.push(np.concatenate([envelope_db, silence]))


class Shaper:
    """Shape the reduction step by step.

    The need is held over the look-ahead, falls with the release, and is averaged over the look-ahead: every value
    under the averaging window covers the need, so the average does.

    Notes
    -----
    P. Hämäläinen, "Smoothing of the control signal without clipped output in digital peak limiters", DAFx-02.
    """

    def __init__(self, ceiling_db: float, timing: Timing, rate_hz: int) -> None:
        self._step_s = STEP_FRAMES / rate_hz
        self._threshold_db, self._timing = ceiling_db - GUARD_DB, timing
        self._ahead = int(round(LOOK_AHEAD_S / self._step_s))
        # The need is looked at from one step back, so that both ends of a step cover it.
        self._needs = np.zeros(1)
        self._fast = self._slow = 0.0
        self._average = np.zeros(1)
        self._reached: Trace | None = None
        window = np.hanning(self._ahead + 3)[1:-1]
        self._window = window / window.sum()

    @property
    def late_steps(self) -> int:
        """By so many steps the reduction comes later than the envelope."""
        return self._ahead + 1

    def push(self, envelope_db: Trace) -> Trace:
        """Take more of the envelope; give the reductions that are settled by now."""
        self._needs = np.concatenate([self._needs, np.maximum(envelope_db - self._threshold_db, 0.0)])
        size = self._ahead + 3
        count = self._needs.size - size + 1
        if count <= 0:
            return np.zeros(0)
        held = scipy.ndimage.maximum_filter1d(self._needs, size)[size // 2 : size // 2 + count]
        self._needs = self._needs[count:].copy()
        reached = self._release(np.asarray(held))
        if self._reached is None:
            self._reached = np.full(self._ahead, reached[0])
        joined = np.concatenate([self._reached, reached])
        self._reached = joined[count:]
        return np.asarray(np.convolve(joined, self._window, "valid"))

    def _release(self, held: Trace) -> Trace:
        """Let the need fall with both releases; the last values of before go first."""
        fast = hold_and_release(np.append(self._fast, held), self._timing.release_s, self._step_s)[1:]
        a = decay_coefficient(SLOW_AVERAGE_S, self._step_s)
        average, self._average = scipy.signal.lfilter([1 - a], [1, -a], fast, zi=self._average)
        factor = decay_coefficient(self._timing.slow_release_s, self._step_s)
        slow = decaying_maximum(np.append(self._slow, average), factor)[1:]
        self._fast, self._slow = float(fast[-1]), float(slow[-1])
        return np.maximum(fast, slow)


class GainRider:
    """Turn sound down as its own envelope asks, with the look-ahead as latency.

    Parameters
    ----------
    drive : float
        Amplitude factor put on first.
    ceiling_db, timing, rate_hz
        As in `shape_reduction`.
    """

    def __init__(self, drive: float, ceiling_db: float, timing: Timing, rate_hz: int) -> None:
        self._drive = drive
        self._shaper = Shaper(ceiling_db, timing, rate_hz)
        self.latency_frames = AFTER + STEP_FRAMES * (self._shaper.late_steps + 2)
        self._unread = np.zeros((2, BEFORE), dtype=np.float32)
        self._unridden = np.zeros((2, 0))
        self._gain: Trace = np.zeros(0)
        self._done = np.zeros((2, self.latency_frames))

    def process(self, block: Rows) -> Rows:
        """Take a block, give as much of what is finished."""
        driven = block * self._drive
        self._unridden = np.concatenate([self._unridden, driven], axis=1)
        self._gain = np.concatenate([self._gain, 10 ** (-self._shaper.push(self._read(driven)) / 20)])
        steps = max(0, self._gain.size - 1)
        frames = steps * STEP_FRAMES
        ridden = self._unridden[:, :frames] * expand_gain(self._gain)
        self._unridden, self._gain = self._unridden[:, frames:].copy(), self._gain[steps:]
        self._done = np.concatenate([self._done, ridden], axis=1)
        out, self._done = self._done[:, : block.shape[1]], self._done[:, block.shape[1] :].copy()
        return out

    def _read(self, driven: Rows) -> Trace:
        """Read the envelope of the steps whose context is complete."""
        self._unread = np.concatenate([self._unread, driven.astype(np.float32)], axis=1)
        frames = max(0, self._unread.shape[1] - BEFORE - AFTER) // STEP_FRAMES * STEP_FRAMES
        if frames == 0:
            return np.zeros(0)
        envelope = read_envelope_db(self._unread[:, : frames + BEFORE + AFTER])
        self._unread = self._unread[:, frames:].copy()
        return envelope


def expand_gain(gain: Trace) -> Trace:
    """Draw a gain from step to step to one factor a frame, shape ((steps - 1) * 8,)."""
    part = np.arange(STEP_FRAMES) / STEP_FRAMES
    return np.asarray((gain[:-1, None] * (1 - part) + gain[1:, None] * part).reshape(-1))
