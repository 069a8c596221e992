"""A ceiling that holds between the samples, on a long meter and on the widespread short one alike."""

from __future__ import annotations

from functools import partial

import numpy as np
import numpy.typing as npt
import scipy

from trainer.dsp.processor import Overlapped, Rows
from trainer.measure.interpolation import STRETCH
from trainer.measure.true_peak import LONG_TAPS, follow_true_peak

GUARD_DB = 0.015
DIP_S = 0.0015
PASSES = 8
# The short reading of sound without anything above 21 kHz is too low by less than this.
DOUBT_DB = 1.6


def hold_ceiling(rows: Rows, rate_hz: int, ceiling_dbtp: float) -> Rows:
    """Turn down, for a few milliseconds, what still rises above a ceiling.

    Parameters
    ----------
    rows : ndarray of float64, shape (2, frames)
        Sound that is nearly below the ceiling already, without anything above 21 kHz.
    rate_hz : int
        Sampling rate.
    ceiling_dbtp : float
        Highest true peak allowed, dBTP.

    Returns
    -------
    ndarray of float64, shape (2, frames)
        The input, bit for bit, wherever nothing near is above the ceiling.
    """
    limit = 10 ** ((ceiling_dbtp - GUARD_DB) / 20)
    half = _half_frames(rate_hz)
    window = np.hanning(2 * half + 3)[1:-1]
    window /= window.sum()
    peaks = _follow(rows, rate_hz, limit)
    held = rows
    for _ in range(PASSES):
        if not (peaks > limit).any():
            break
        over_db = 20 * np.log10(np.maximum(peaks / limit, 1.0))
        # Wider by one frame than the window, because a peak lies between its frame and the next.
        covered = scipy.ndimage.maximum_filter1d(over_db, 2 * half + 3, mode="nearest")
        dip_db = np.maximum(scipy.signal.oaconvolve(covered, window, mode="same"), 0.0)
        touched = scipy.ndimage.maximum_filter1d(covered, 2 * half + 1) > 0
        held = rows.copy() if held is rows else held
        held[:, touched] *= 10 ** (-dip_db[touched] / 20)
        _read_again(held, peaks, touched, rate_hz, limit)
    return held


def begin_ceiling(rate_hz: int, ceiling_dbtp: float) -> Overlapped:
    """Hold a ceiling block by block: each pass reaches a dip and the interpolator's taps further."""
    margin = PASSES * (2 * _half_frames(rate_hz) + LONG_TAPS)
    whole = -(-margin // STRETCH) * STRETCH
    return Overlapped(partial(hold_ceiling, rate_hz=rate_hz, ceiling_dbtp=ceiling_dbtp), whole, whole)


def _half_frames(rate_hz: int) -> int:
    """Half of a dip."""
    return max(1, int(round(DIP_S * rate_hz)))


def _follow(rows: Rows, rate_hz: int, limit: float) -> npt.NDArray[np.float32]:
    return follow_true_peak(rows.T.astype(np.float32), rate_hz, limit, DOUBT_DB)


def _read_again(
    held: Rows, peaks: npt.NDArray[np.float32], touched: npt.NDArray[np.bool_], rate_hz: int, limit: float
) -> None:
    """Bring the peaks up to date around what was touched, in one reading of the joined places."""
    near = scipy.ndimage.maximum_filter1d(touched, 2 * LONG_TAPS + 1)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], near, [False]]).astype(np.int8)))
    for first, last in edges.reshape(-1, 2).tolist():
        start, stop = max(0, first - LONG_TAPS), min(held.shape[1], last + LONG_TAPS)
        part = _follow(held[:, start:stop], rate_hz, limit)
        peaks[first:last] = part[first - start : last - start]
