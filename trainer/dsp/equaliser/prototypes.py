"""Analogue curves that the filters follow, as amplitude factors against frequency."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[np.float64]

# S = 1, the steepest shelf without overshoot: Q of 1/sqrt(2) whatever the gain.
SHELF_Q = float(1 / np.sqrt(2))
# A tilt's figure is the rise between these ends.
TILT_ENDS_HZ = (20.0, 20000.0)


def high_shelf_gain(frequencies_hz: npt.NDArray[np.floating], corner_hz: float, gain_db: float) -> Values:
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


def low_shelf_gain(frequencies_hz: npt.NDArray[np.floating], corner_hz: float, gain_db: float) -> Values:
    """Give the analogue low shelf's gain as an amplitude factor; parameters as for the high shelf.

    Notes
    -----
    As above: the low shelf of the Cookbook is its high shelf of the opposite gain, turned up as a whole.
    """
    return np.asarray(10 ** (gain_db / 20) * high_shelf_gain(frequencies_hz, corner_hz, -gain_db))


def bell_gain(frequencies_hz: npt.NDArray[np.floating], centre_hz: float, gain_db: float, q: float) -> Values:
    """Give the analogue bell's gain as an amplitude factor.

    Parameters
    ----------
    frequencies_hz : ndarray
        Where, Hz.
    centre_hz : float
        Frequency with all of the gain.
    gain_db : float
        Gain there, dB.
    q : float
        The points with half of the gain in dB are centre / q apart, Hz.

    Notes
    -----
    R. Bristow-Johnson, *Audio EQ Cookbook* (W3C Note, 2021): H(s) = (s² + s A/Q + 1) / (s² + s/(A Q) + 1).
    """
    a = 10 ** (gain_db / 40)
    x = np.asarray(frequencies_hz, dtype=np.float64) / centre_hz
    apart = (1 - x**2) ** 2
    return np.asarray(np.sqrt((apart + (x * a / q) ** 2) / (apart + (x / (a * q)) ** 2)))


def tilt_gain(frequencies_hz: npt.NDArray[np.floating], pivot_hz: float, tilt_db: float) -> Values:
    """Give a straight line in dB against octaves as an amplitude factor.

    Parameters
    ----------
    frequencies_hz : ndarray
        Where, Hz, above 0.
    pivot_hz : float
        Frequency that keeps its level.
    tilt_db : float
        Rise from 20 Hz to 20 kHz, dB.
    """
    low_hz, high_hz = TILT_ENDS_HZ
    x = np.asarray(frequencies_hz, dtype=np.float64) / pivot_hz
    return np.asarray(x ** (tilt_db / (20 * np.log10(high_hz / low_hz))))


def high_pass_gain(frequencies_hz: npt.NDArray[np.floating], cutoff_hz: float, order: int) -> Values:
    """Give the Butterworth high-pass's gain as an amplitude factor: 1/√2 at the cut-off.

    Notes
    -----
    S. Butterworth, *On the Theory of Filter Amplifiers* (1930), from memory: |H|² = 1 / (1 + (f_c/f)^(2n)).
    """
    x = np.asarray(frequencies_hz, dtype=np.float64) / cutoff_hz
    return np.asarray(x**order / np.sqrt(1 + x ** (2 * order)))
