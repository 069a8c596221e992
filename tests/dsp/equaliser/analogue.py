"""Analogue filters written out as transfer functions, apart from what is tested, and read by scipy's freqs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.signal import butter, freqs

Curve = npt.NDArray[np.float64]


def read_db(above: Sequence[float], below: Sequence[float], place_hz: float, frequencies_hz: Curve) -> Curve:
    """Read H(s), s normalised to a frequency, in dB."""
    _, response = freqs(above, below, worN=np.asarray(frequencies_hz) / place_hz)
    return np.asarray(20 * np.log10(np.abs(response)))


def shelf_db(kind: str, frequencies_hz: Curve, corner_hz: float, gain_db: float) -> Curve:
    """W3C Audio EQ Cookbook, lowShelf and highShelf with S = 1, so that 1/Q = √2."""
    a = 10 ** (gain_db / 40)
    middle = np.sqrt(2 * a)
    one, other = [1.0, middle, a], [a, middle, 1.0]
    above, below = (one, other) if kind == "low_shelf" else (other, one)
    return read_db([a * value for value in above], below, corner_hz, frequencies_hz)


def bell_db(frequencies_hz: Curve, centre_hz: float, gain_db: float, q: float) -> Curve:
    """W3C Audio EQ Cookbook, peakingEQ: H(s) = (s² + s A/Q + 1) / (s² + s/(A Q) + 1)."""
    a = 10 ** (gain_db / 40)
    return read_db([1.0, a / q, 1.0], [1.0, 1 / (a * q), 1.0], centre_hz, frequencies_hz)


def tilt_db(frequencies_hz: Curve, pivot_hz: float, rise_db: float) -> Curve:
    """Closed form: a straight line against log2, so many dB from 20 Hz to 20 kHz."""
    return np.asarray(rise_db * np.log2(np.asarray(frequencies_hz) / pivot_hz) / np.log2(1000.0))


def high_pass_db(frequencies_hz: Curve, cutoff_hz: float, order: int) -> Curve:
    """scipy.signal.butter, analogue."""
    above, below = butter(order, 1.0, "highpass", analog=True)
    return read_db(above.tolist(), below.tolist(), cutoff_hz, frequencies_hz)


def wish_db(name: str, frequencies_hz: Curve, settings: dict[str, float]) -> Curve:
    """Give the analogue curve of a move's settings."""
    if name in ("low_shelf", "high_shelf"):
        return shelf_db(name, frequencies_hz, settings["corner_hz"], settings["gain_db"])
    if name == "bell":
        return bell_db(frequencies_hz, settings["centre_hz"], settings["centre_gain_db"], settings["bell_q"])
    if name == "tilt":
        return tilt_db(frequencies_hz, settings["pivot_hz"], settings["tilt_db"])
    return high_pass_db(frequencies_hz, settings["cutoff_hz"], round(settings["slope_per_octave_db"] / 6))
