"""Matched second-order shelves: digital filters that follow the analogue curve up to Nyquist."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from trainer.dsp.equaliser.prototypes import SHELF_Q, Values, high_shelf_gain
from trainer.dsp.equaliser.sections import (
    IDENTITY,
    fit_section,
    invert_section,
    place_poles,
    spread_powers,
    square_polynomial,
)
from trainer.errors import BadValue

HIGHEST_CORNER = 0.42


def design_high_shelf(corner_hz: float, gain_db: float, rate_hz: int) -> Values:
    """Design a digital high shelf whose curve is matched to the analogue one, not cramped towards Nyquist.

    Parameters
    ----------
    corner_hz : float
        Frequency with half of the gain in dB; up to 0.42 of the rate.
    gain_db : float
        The plateau's gain, dB; 0 gives a filter that changes nothing.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of float64, shape (1, 6)
        One second-order section.

    Raises
    ------
    BadValue
        If the corner is too near Nyquist.

    Notes
    -----
    M. Vicanek, *Matched Second Order Digital Filters* (2016), from memory: poles by impulse invariance, zeros such
    that the squared magnitude is right at 0 Hz, at the corner and at Nyquist. What is left, 0.1 dB in a large
    shelf, is taken out by a least-squares fit of the five coefficients to the analogue curve: within 0.03 dB up to
    20 kHz for corners to 8 kHz and gains to 6 dB, within 0.1 dB at the bounds (16 kHz, 12 dB, 44.1 kHz).
    """
    if corner_hz > HIGHEST_CORNER * rate_hz:
        raise BadValue("shelf", "corner_hz", f"{corner_hz:g}", f"at most {HIGHEST_CORNER * rate_hz:g} at {rate_hz} Hz")
    if gain_db == 0:
        return IDENTITY.copy()
    section = _design(corner_hz, abs(gain_db), rate_hz)
    return invert_section(section) if gain_db < 0 else section.copy()


def design_low_shelf(corner_hz: float, gain_db: float, rate_hz: int) -> Values:
    """Design a digital low shelf: a high shelf of the opposite gain, turned up as a whole; else as above."""
    section = design_high_shelf(corner_hz, -gain_db, rate_hz)
    section[0, :3] *= 10 ** (gain_db / 20)
    return section


@lru_cache(maxsize=128)
def _design(corner_hz: float, gain_db: float, rate_hz: int) -> Values:
    """Match at three frequencies, then fit; kept, as one filter is asked for again and again."""
    # The prototype's poles are at a natural frequency of sqrt(A) corners.
    natural_hz = 10 ** (gain_db / 80) * corner_hz
    denominator = square_polynomial(place_poles(natural_hz, 1 / (2 * SHELF_Q), rate_hz))
    at_corner, at_nyquist = high_shelf_gain(np.array([corner_hz, rate_hz / 2]), corner_hz, gain_db) ** 2
    functions = spread_powers(np.array(2 * np.pi * corner_hz / rate_hz))
    ends = denominator[:2] * (1.0, at_nyquist)
    curved = (at_corner * (functions @ denominator) - functions[:2] @ ends) / functions[2]
    numerator = np.array([*ends, curved])
    return fit_section(numerator, denominator, lambda f: high_shelf_gain(f, corner_hz, gain_db), corner_hz, rate_hz)
