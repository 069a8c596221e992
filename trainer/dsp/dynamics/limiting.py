"""The limiter's parts: the envelope between the samples, the reduction over time, and the gain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import maximum_filter1d
from scipy.signal import lfilter

from trainer.dsp.dynamics.recovery import decay_coefficient, decaying_maximum, hold_and_release
from trainer.measure.interpolation import design_interpolator, find_peaks_between

STEP_FRAMES = 8
LOOK_AHEAD_S = 0.003
PHASES, TAPS, BETA = 4, 32, 6.0
# Four phases may miss a little of a peak; what this does not cover, `hold_ceiling` does.
GUARD_DB = 0.1
SLOW_AVERAGE_S = 0.12


@dataclass(frozen=True)
class Timing:
    """Times of a limiter, s; ``slow_release_s`` carries what has been held down for longer."""

    release_s: float
    slow_release_s: float


def follow_envelope_db(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.float64]:
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
    filters = design_interpolator(PHASES, TAPS, BETA)
    before = TAPS // 2 - 1
    padded = np.pad(samples, ((before, TAPS - 1 - before), (0, 0)))
    peaks = np.zeros(samples.shape[0], dtype=np.float32)
    for channel in range(samples.shape[1]):
        np.maximum(peaks, find_peaks_between(padded[:, channel], filters), out=peaks)
    steps = np.maximum.reduceat(peaks, np.arange(0, peaks.size, STEP_FRAMES))
    return np.asarray(20 * np.log10(np.maximum(steps, 1e-10)), dtype=np.float64)


def shape_reduction(
    envelope_db: npt.NDArray[np.float64], ceiling_db: float, timing: Timing, rate_hz: int
) -> npt.NDArray[np.float64]:
    """Shape the gain reduction that keeps an envelope below a ceiling.

    The need is held over the look-ahead, falls with the release, and is averaged over the look-ahead: every value
    under the averaging window covers the need, so the average does.

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

    Notes
    -----
    P. Hämäläinen, "Smoothing of the control signal without clipped output in digital peak limiters", DAFx-02.
    """
    step_s = STEP_FRAMES / rate_hz
    ahead = int(round(LOOK_AHEAD_S / step_s))
    need = np.maximum(envelope_db - (ceiling_db - GUARD_DB), 0.0)
    held = _hold_ahead(need, ahead)
    fast = hold_and_release(held, timing.release_s, step_s)
    average = lfilter(*_one_pole(SLOW_AVERAGE_S, step_s), fast)
    slow = decaying_maximum(np.asarray(average), decay_coefficient(timing.slow_release_s, step_s))
    window = np.hanning(ahead + 3)[1:-1]
    reached = np.maximum(fast, slow)
    padded = np.concatenate([np.full(ahead, reached[0]), reached])
    return np.asarray(np.convolve(padded, window / window.sum(), "valid"))


def expand_reduction(reduction_db: npt.NDArray[np.float64], frames: int) -> npt.NDArray[np.float64]:
    """Draw the reduction from step to step to one gain factor a frame, shape (frames,)."""
    gain = 10 ** (-reduction_db / 20)
    ends = np.append(gain, gain[-1])
    part = np.arange(STEP_FRAMES) / STEP_FRAMES
    return np.asarray((ends[:-1, None] * (1 - part) + ends[1:, None] * part).reshape(-1)[:frames])


def _hold_ahead(need: npt.NDArray[np.float64], ahead: int) -> npt.NDArray[np.float64]:
    """Maximum from one step back to one step past the look-ahead, so that both ends of a step cover it."""
    size = ahead + 3
    padded = np.concatenate([[0.0], need, np.zeros(ahead + 1)])
    return np.asarray(maximum_filter1d(padded, size, origin=-(size // 2))[: need.size])


def _one_pole(time_s: float, step_s: float) -> tuple[list[float], list[float]]:
    a = decay_coefficient(time_s, step_s)
    return [1 - a], [1, -a]
