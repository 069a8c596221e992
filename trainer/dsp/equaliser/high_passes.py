"""Butterworth high-passes for what lies below the lowest note."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import scipy

from trainer.dsp.equaliser.prototypes import Values
from trainer.errors import BadValue

# Above this share of the rate the bilinear filter would leave the analogue curve by more than 0.001 dB.
HIGHEST_CUTOFF = 0.003


def design_high_pass(cutoff_hz: float, order: int, rate_hz: int) -> Values:
    """Design a digital Butterworth high-pass; at these low frequencies within 0.001 dB of the analogue one.

    Parameters
    ----------
    cutoff_hz : float
        Frequency that is 3.01 dB down; up to 0.003 of the rate.
    order : int
        2 or 4: 12 or 24 dB an octave.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of float64, shape (order / 2, 6)
        Second-order sections.

    Raises
    ------
    BadValue
        If the cut-off is too high for the rate.
    """
    if cutoff_hz > HIGHEST_CUTOFF * rate_hz:
        expected = f"at most {HIGHEST_CUTOFF * rate_hz:g} at {rate_hz} Hz"
        raise BadValue("high pass", "cutoff_hz", f"{cutoff_hz:g}", expected)
    return _design(cutoff_hz, order, rate_hz).copy()


@lru_cache(maxsize=32)
def _design(cutoff_hz: float, order: int, rate_hz: int) -> Values:
    return np.asarray(scipy.signal.butter(order, cutoff_hz, "highpass", fs=rate_hz, output="sos"), dtype=np.float64)
