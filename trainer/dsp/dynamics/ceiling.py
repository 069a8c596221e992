"""A ceiling that holds between the samples, on a long meter and on the widespread short one alike."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.ndimage import maximum_filter1d
from scipy.signal import oaconvolve

from trainer.measure.true_peak import LONG_TAPS, follow_true_peak

GUARD_DB = 0.015
DIP_S = 0.0015
PASSES = 8


def hold_ceiling(samples: npt.NDArray[np.floating], rate_hz: int, ceiling_dbtp: float) -> npt.NDArray[np.float64]:
    """Turn down, for a few milliseconds, what still rises above a ceiling.

    Parameters
    ----------
    samples : ndarray, shape (frames, 2)
        Sound that is nearly below the ceiling already, band-limited below Nyquist.
    rate_hz : int
        Sampling rate.
    ceiling_dbtp : float
        Highest true peak allowed, dBTP.

    Returns
    -------
    ndarray of float64, shape (frames, 2)
        The input itself, bit for bit, wherever nothing near is above the ceiling.
    """
    held = samples.astype(np.float64)
    limit = 10 ** ((ceiling_dbtp - GUARD_DB) / 20)
    half = max(1, int(round(DIP_S * rate_hz)))
    window = np.hanning(2 * half + 3)[1:-1]
    window /= window.sum()
    peaks = follow_true_peak(held.astype(np.float32), rate_hz, limit)
    for _ in range(PASSES):
        over_db = 20 * np.log10(np.maximum(peaks / limit, 1.0))
        if not over_db.any():
            break
        # Wider by one frame than the window, because a peak lies between its frame and the next.
        covered = maximum_filter1d(over_db, 2 * half + 3, mode="nearest")
        dip_db = np.maximum(oaconvolve(covered, window, mode="same"), 0.0)
        touched = maximum_filter1d(covered, 2 * half + 1) > 0
        held[touched] *= (10 ** (-dip_db[touched] / 20))[:, None]
        _read_again(held, peaks, touched, rate_hz, limit)
    return held


def _read_again(
    held: npt.NDArray[np.float64],
    peaks: npt.NDArray[np.float32],
    touched: npt.NDArray[np.bool_],
    rate_hz: int,
    limit: float,
) -> None:
    """Bring the peaks up to date around what was touched."""
    near = maximum_filter1d(touched, 2 * LONG_TAPS + 1)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], near, [False]]).astype(np.int8)))
    for first, last in edges.reshape(-1, 2).tolist():
        start, stop = max(0, first - LONG_TAPS), min(held.shape[0], last + LONG_TAPS)
        part = follow_true_peak(held[start:stop].astype(np.float32), rate_hz, limit)
        peaks[first:last] = part[first - start : last - start]
