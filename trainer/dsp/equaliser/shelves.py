"""Matched second-order shelves: digital filters that follow the analogue curve up to Nyquist."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares
from scipy.signal import sosfreqz

from trainer.errors import BadValue

# S = 1, the steepest slope without overshoot: Q of 1/sqrt(2) whatever the gain.
SHELF_Q = float(1 / np.sqrt(2))


def high_shelf_gain(
    frequencies_hz: npt.NDArray[np.floating], corner_hz: float, gain_db: float
) -> npt.NDArray[np.float64]:
    """Give the analogue high shelf's gain as an amplitude factor.

    Parameters
    ----------
    frequencies_hz : ndarray
        Where, Hz.
    corner_hz : float
        Frequency with half of the gain in dB.
    gain_db : float
        The plateau's gain, dB.

    Notes
    -----
    R. Bristow-Johnson, *Audio EQ Cookbook* (W3C Note, 2021): analogue prototype of the high shelf, S = 1.
    """
    a = 10 ** (gain_db / 40)
    x = np.asarray(frequencies_hz, dtype=np.float64) / corner_hz
    middle = (np.sqrt(a) / SHELF_Q * x) ** 2
    return np.asarray(a * np.sqrt(((1 - a * x**2) ** 2 + middle) / ((a - x**2) ** 2 + middle)))


def design_high_shelf(corner_hz: float, gain_db: float, rate_hz: int) -> npt.NDArray[np.float64]:
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
    20 kHz for corners to 8 kHz and gains to 6 dB, within 0.12 dB at the bounds (16 kHz, 12 dB, 44.1 kHz).
    """
    if corner_hz > 0.42 * rate_hz:
        raise BadValue("high shelf", "corner_hz", f"{corner_hz:g}", f"at most {0.42 * rate_hz:g} at {rate_hz} Hz")
    return _refine(_match(corner_hz, gain_db, rate_hz), corner_hz, gain_db, rate_hz).copy()


def _match(corner_hz: float, gain_db: float, rate_hz: int) -> npt.NDArray[np.float64]:
    """Match the section at three frequencies, in closed form."""
    pole_1, pole_2 = _place_poles(corner_hz, gain_db, rate_hz)
    denominator = ((1 + pole_1 + pole_2) ** 2, (1 - pole_1 + pole_2) ** 2, -4 * pole_2)
    half = rate_hz / 2
    at_corner, at_nyquist = high_shelf_gain(np.array([corner_hz, half]), corner_hz, gain_db) ** 2
    phi_1 = float(np.sin(np.pi * corner_hz / rate_hz) ** 2)
    phi = (1 - phi_1, phi_1, 4 * phi_1 * (1 - phi_1))
    at_dc, at_top = denominator[0], denominator[1] * at_nyquist
    wished = at_corner * sum(d * p for d, p in zip(denominator, phi, strict=True))
    curved = (wished - at_dc * phi[0] - at_top * phi[1]) / phi[2]
    sums = 0.5 * (np.sqrt(at_dc) + np.sqrt(at_top))
    b0 = 0.5 * (sums + np.sqrt(max(sums**2 + curved, 0.0)))
    b1 = 0.5 * (np.sqrt(at_dc) - np.sqrt(at_top))
    return np.array([[b0, b1, -curved / (4 * b0), 1.0, pole_1, pole_2]], dtype=np.float64)


@lru_cache(maxsize=64)
def _fit(start: tuple[float, ...], corner_hz: float, gain_db: float, rate_hz: int) -> npt.NDArray[np.float64]:
    """Fit the coefficients to the analogue curve from 20 Hz to just below Nyquist."""
    frequencies = np.concatenate([np.geomspace(20, corner_hz, 60), np.linspace(corner_hz, 0.48 * rate_hz, 120)])
    wished = 20 * np.log10(high_shelf_gain(frequencies, corner_hz, gain_db))

    def miss(trial: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        _, response = sosfreqz(_assemble(trial), worN=frequencies, fs=rate_hz)
        return np.asarray(20 * np.log10(np.abs(response) + 1e-12) - wished)

    return _assemble(least_squares(miss, np.array(start), x_scale=0.1, xtol=1e-12, ftol=1e-14).x)


def _refine(
    section: npt.NDArray[np.float64], corner_hz: float, gain_db: float, rate_hz: int
) -> npt.NDArray[np.float64]:
    """Improve a matched section; keep it where the fit would leave the stable region."""
    fitted = _fit(tuple(np.delete(section[0], 3).tolist()), corner_hz, gain_db, rate_hz)
    pole_1, pole_2 = fitted[0, 4:]
    return fitted if abs(pole_2) < 1 and abs(pole_1) < 1 + pole_2 else section


def _assemble(coefficients: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Make a section, shape (1, 6), of its five free coefficients."""
    return np.insert(coefficients, 3, 1.0)[None, :]


def _place_poles(corner_hz: float, gain_db: float, rate_hz: int) -> tuple[float, float]:
    """Carry the prototype's poles over by impulse invariance; they are at a natural frequency of sqrt(A) corners."""
    angle = 10 ** (gain_db / 80) * 2 * np.pi * corner_hz / rate_hz
    damping = 1 / (2 * SHELF_Q)
    decay = np.exp(-damping * angle)
    return float(-2 * decay * np.cos(angle * np.sqrt(1 - damping**2))), float(decay**2)
