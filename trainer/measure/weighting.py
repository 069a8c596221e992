"""K-weighting of ITU-R BS.1770 at any sampling rate."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure import standards


@lru_cache(maxsize=16)
def design_k_weighting(rate_hz: int) -> npt.NDArray[np.float64]:
    """Design the two filters of ITU-R BS.1770-5, Annex 1, as second-order sections, shape (2, 6)."""
    shelf = _design_shelf(rate_hz)
    k = np.tan(np.pi * standards.HIGH_PASS_HZ / rate_hz)
    scale = 1 + k / standards.HIGH_PASS_Q + k * k
    high_pass = [
        1.0,
        -2.0,
        1.0,
        1.0,
        2 * (k * k - 1) / scale,
        (1 - k / standards.HIGH_PASS_Q + k * k) / scale,
    ]
    sections = np.array([shelf, high_pass], dtype=np.float64)
    sections.setflags(write=False)
    return sections


def weight_k(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.float64]:
    """Filter samples, shape (frames, channels), with the K-weighting, starting from rest."""
    if samples.shape[0] == 0:
        return np.zeros(samples.shape)
    sections = design_k_weighting(rate_hz).copy()  # scipy.signal.sosfilt asks for a writable array
    return np.asarray(scipy.signal.sosfilt(sections, samples.astype(np.float64), axis=0), dtype=np.float64)


def _design_shelf(rate_hz: int) -> list[float]:
    """Design stage 1, the high shelf of the head."""
    k = np.tan(np.pi * standards.SHELF_HZ / rate_hz)
    high = 10 ** (standards.SHELF_GAIN_DB / 20)
    band = high**standards.SHELF_BAND_EXPONENT
    q = standards.SHELF_Q
    scale = 1 + k / q + k * k
    return [
        float((high + band * k / q + k * k) / scale),
        float(2 * (k * k - high) / scale),
        float((high - band * k / q + k * k) / scale),
        1.0,
        float(2 * (k * k - 1) / scale),
        float((1 - k / q + k * k) / scale),
    ]
