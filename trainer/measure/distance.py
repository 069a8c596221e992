"""How far two versions of one loop are apart for an ear that does not mind phase."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.loops import extend_loop
from trainer.measure.loudness import measure_loop_lufs
from trainer.measure.standards import THIRD_OCTAVE_INDICES, third_octave_centre_hz, third_octave_edges_hz

# About what the ear takes for one moment (common practice, no source).
WINDOW_S = 0.04
# Sound so far below the loudest band of its moment, or of the whole loop, is taken as covered.
COVERED_DB = 30.0
SOFT_DB = 60.0


@dataclass(frozen=True)
class Distance:
    """Hold how far apart two equally loud versions are.

    Parameters
    ----------
    overall_db : float
        Root mean square of the level differences over moments of 40 ms, third octaves, and left, right, middle and
        side, dB; 0 for one and the same sound, whatever its phase.
    largest_db : float
        Largest difference of a third octave's mean level, dB, signed: the second against the first.
    at_hz : float
        Where that is, Hz.
    """

    overall_db: float
    largest_db: float
    at_hz: float


def measure_distance(first: npt.NDArray[np.floating], second: npt.NDArray[np.floating], rate_hz: int) -> Distance:
    """Measure how far two versions of one loop are apart once they are equally loud.

    Parameters
    ----------
    first, second : ndarray, shape (frames, 2)
        Versions of one loop, in step with each other; they need not be matched yet.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    Distance
        Zero for two silences.

    Notes
    -----
    A measure of difference, not of audibility: no masking beyond the two floors, common practice, no source.
    """
    a, b = (_read_cells(sides, rate_hz) for sides in (first, second))
    gain_db = measure_loop_lufs(first, rate_hz) - measure_loop_lufs(second, rate_hz)
    b = b * (10 ** (gain_db / 10) if np.isfinite(gain_db) else 1.0)
    loudest = np.maximum(a, b)
    floor = np.maximum(
        loudest.max(axis=2, keepdims=True) * 10 ** (-COVERED_DB / 10), loudest.max(initial=0.0) * 10 ** (-SOFT_DB / 10)
    )
    heard = loudest > floor
    if not heard.any():
        return Distance(0.0, 0.0, third_octave_centre_hz(0))
    differences = 10 * np.log10(np.maximum(b, floor) / np.maximum(a, floor))[heard]
    largest_db, at_hz = _find_largest(a, b, rate_hz)
    return Distance(float(np.sqrt(np.mean(differences**2))), largest_db, at_hz)


def _read_cells(sides: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.float64]:
    """Power in each moment and third octave, shape (4, moments, bands): left, right, middle, side."""
    width = int(round(WINDOW_S * rate_hz))
    hop = width // 2
    count = -(-sides.shape[0] // hop)
    looped = extend_loop(sides, 0, count * hop + width - sides.shape[0]).astype(np.float64)
    left, right = looped.T
    signals = np.stack([left, right, (left + right) / 2, (left - right) / 2])
    moments = np.lib.stride_tricks.sliding_window_view(signals, width, axis=1)[:, : count * hop : hop]
    power = np.abs(np.fft.rfft(moments * np.hanning(width), axis=2)) ** 2
    total = np.concatenate([np.zeros((*power.shape[:2], 1)), np.cumsum(power, axis=2)], axis=2)
    places = np.array([_place(index, width, rate_hz) for index in _list_bands(width, rate_hz)])
    return np.asarray(total[:, :, places[:, 1]] - total[:, :, places[:, 0]])


def _list_bands(width: int, rate_hz: int) -> list[int]:
    """Third octaves that hold a line of so short a window and lie below Nyquist."""
    inside = [i for i in THIRD_OCTAVE_INDICES if third_octave_edges_hz(i)[1] < rate_hz / 2]
    return [i for i in inside if np.diff(_place(i, width, rate_hz))[0] >= 1]


def _place(index: int, width: int, rate_hz: int) -> tuple[int, int]:
    """First and last line of a third octave."""
    low, high = third_octave_edges_hz(index)
    return int(np.ceil(low * width / rate_hz)), int(np.ceil(high * width / rate_hz))


def _find_largest(a: npt.NDArray[np.float64], b: npt.NDArray[np.float64], rate_hz: int) -> tuple[float, float]:
    """Find the third octave whose mean level, left and right together, differs most."""
    width = int(round(WINDOW_S * rate_hz))
    was, became = a[:2].mean(axis=(0, 1)), b[:2].mean(axis=(0, 1))
    loud = was > was.max() * 10 ** (-SOFT_DB / 10)
    change = np.where(loud, 10 * np.log10(np.maximum(became, 1e-30) / np.maximum(was, 1e-30)), 0.0)
    place = int(np.abs(change).argmax())
    return float(change[place]), third_octave_centre_hz(_list_bands(width, rate_hz)[place])
