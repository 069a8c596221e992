"""Equaliser bands and drawn filters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import signal as sps

from .signal import RATE_HZ, Audio, Curve

Kind = Literal["high_pass", "low_pass", "low_shelf", "high_shelf", "bell"]


@dataclass(frozen=True)
class Band:
    """One equaliser band; ``gain_db`` is not used by the passes."""

    kind: Kind
    corner_hz: float
    gain_db: float = 0.0
    q: float = 0.7071


def low_cut(corner_hz: float, q: float = 0.7071) -> Band:
    """Return a high-pass of 12 dB per octave."""
    return Band("high_pass", corner_hz, q=q)


def high_cut(corner_hz: float, q: float = 0.7071) -> Band:
    """Return a low-pass of 12 dB per octave."""
    return Band("low_pass", corner_hz, q=q)


def bell(centre_hz: float, gain_db: float, q: float = 1.0) -> Band:
    """Return a bell."""
    return Band("bell", centre_hz, gain_db, q)


def low_shelf(corner_hz: float, gain_db: float) -> Band:
    """Return a low shelf."""
    return Band("low_shelf", corner_hz, gain_db)


def high_shelf(corner_hz: float, gain_db: float) -> Band:
    """Return a high shelf."""
    return Band("high_shelf", corner_hz, gain_db)


def _biquad(band: Band) -> NDArray[np.float64]:
    """Coefficients after R. Bristow-Johnson, "Audio EQ Cookbook" (W3C note, 2021)."""
    w = 2.0 * np.pi * band.corner_hz / RATE_HZ
    c, alpha, a = np.cos(w), np.sin(w) / (2.0 * band.q), 10.0 ** (band.gain_db / 40.0)
    if band.kind == "high_pass":
        b, d = [(1 + c) / 2, -(1 + c), (1 + c) / 2], [1 + alpha, -2 * c, 1 - alpha]
    elif band.kind == "low_pass":
        b, d = [(1 - c) / 2, 1 - c, (1 - c) / 2], [1 + alpha, -2 * c, 1 - alpha]
    elif band.kind == "bell":
        b, d = [1 + alpha * a, -2 * c, 1 - alpha * a], [1 + alpha / a, -2 * c, 1 - alpha / a]
    else:
        # The high shelf is the low shelf with the frequency axis reversed.
        s, r = (1.0 if band.kind == "low_shelf" else -1.0), 2.0 * np.sqrt(a) * alpha
        b = [
            a * ((a + 1) - s * (a - 1) * c + r),
            s * 2 * a * ((a - 1) - s * (a + 1) * c),
            a * ((a + 1) - s * (a - 1) * c - r),
        ]
        d = [
            (a + 1) + s * (a - 1) * c + r,
            -s * 2 * ((a - 1) + s * (a + 1) * c),
            (a + 1) + s * (a - 1) * c - r,
        ]
    return np.asarray(np.array([*b, *d]) / d[0], dtype=np.float64)


def equalise(audio: Audio, bands: Sequence[Band]) -> Audio:
    """Return the sound through the bands, one after another."""
    if not bands:
        return audio
    sections = np.array([_biquad(band) for band in bands])
    filtered = sps.sosfilt(sections, audio.astype(np.float64), axis=0)
    return np.asarray(filtered, dtype=np.float32)


def drawn_filter(points: Sequence[tuple[float, float]], taps: int = 2048) -> Curve:
    """Return a minimum-phase impulse response with the magnitude drawn by (hertz, decibels) points.

    The magnitude is interpolated straight over the logarithm of frequency and made minimum-phase
    through the folded cepstrum, so that nothing sounds before the hit.
    """
    size = 4 * taps
    grid_hz = np.fft.rfftfreq(size, 1.0 / RATE_HZ)
    logs = np.log2(np.maximum(grid_hz, 10.0))
    level_db = np.interp(logs, np.log2([hz for hz, _ in points]), [db for _, db in points])
    response = np.fft.irfft(minimum_phase(level_db * np.log(10.0) / 20.0), size)[:taps]
    response[-taps // 4 :] *= np.linspace(1.0, 0.0, taps // 4)
    return np.asarray(response, dtype=np.float64)


def minimum_phase(log_magnitude: NDArray[np.float64]) -> NDArray[np.complex128]:
    """Return the minimum-phase spectrum of natural-log magnitudes on a half grid (last axis)."""
    size = 2 * (log_magnitude.shape[-1] - 1)
    cepstrum = np.fft.irfft(log_magnitude, size, axis=-1)
    cepstrum[..., 1 : size // 2] *= 2.0
    cepstrum[..., size // 2 + 1 :] = 0.0
    return np.asarray(np.exp(np.fft.rfft(cepstrum, size, axis=-1)), dtype=np.complex128)


def convolve(audio: Audio, response: Curve) -> Audio:
    """Return the sound through an impulse response of shape (taps,) or (taps, channels), same length."""
    kernel = response[:, None] if response.ndim == 1 else response
    wet = sps.oaconvolve(audio.astype(np.float64), kernel, axes=0)[: len(audio)]
    return np.asarray(wet, dtype=np.float32)
