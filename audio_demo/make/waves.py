"""Band-limited waves: one table for each pitch, which holds only the harmonics that fit below 19 kHz."""

from __future__ import annotations

from typing import Literal

import numpy as np

from .signal import RATE_HZ, Curve

Shape = Literal["sine", "triangle", "saw", "square", "pulse"]

_TABLE = 16_384
_TOP_HZ = 19_000.0
_PULSE_WIDTH = 0.31


def _harmonics(shape: Shape, number: Curve) -> Curve:
    """Fourier coefficients of the sine series of each shape, by harmonic number."""
    if shape == "sine":
        return np.where(number == 1, 1.0, 0.0)
    if shape == "triangle":
        return np.where(number % 2 == 1, 8.0 / np.pi**2 / number**2 * (-1.0) ** ((number - 1) // 2), 0.0)
    if shape == "square":
        return np.where(number % 2 == 1, 4.0 / np.pi / number, 0.0)
    if shape == "pulse":
        return np.asarray(4.0 / np.pi / number * np.sin(np.pi * number * _PULSE_WIDTH), dtype=np.float64)
    return np.asarray(2.0 / np.pi / number, dtype=np.float64)


def wave_table(shape: Shape, highest_hz: float) -> Curve:
    """Return one cycle of a wave that stays below 19 kHz when played at up to ``highest_hz``."""
    count = max(1, min(_TABLE // 8, int(_TOP_HZ / highest_hz)))
    number = np.arange(1.0, count + 1.0)
    spectrum = np.zeros(_TABLE // 2 + 1, dtype=np.complex128)
    spectrum[1 : count + 1] = -0.5j * _TABLE * _harmonics(shape, number)
    return np.asarray(np.fft.irfft(spectrum, _TABLE), dtype=np.float64)


def oscillate(shape: Shape, pitch_hz: Curve, *, phase: float = 0.0) -> Curve:
    """Return a wave whose pitch may move, one value of ``pitch_hz`` for each frame; ``phase`` in cycles."""
    table = wave_table(shape, float(np.max(pitch_hz)))
    cycles = phase + np.cumsum(pitch_hz) / RATE_HZ
    place = (cycles - np.floor(cycles)) * _TABLE
    low = place.astype(np.int64) % _TABLE
    part = place - np.floor(place)
    return np.asarray((1.0 - part) * table[low] + part * table[(low + 1) % _TABLE], dtype=np.float64)
