"""Songs to plant faults in, of known parts."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.signal import butter, sosfilt

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip

RATE_HZ = 48000


@lru_cache(maxsize=4)
def beat(seconds: float = 4.0, rate_hz: int = RATE_HZ) -> Clip:
    """A beat over a chord, round the loop."""
    return Clip(music_like(int(seconds * rate_hz), rate_hz, 5).astype(np.float32), rate_hz)


@lru_cache(maxsize=2)
def voice() -> Clip:
    """Four seconds of a held chord with five bursts of 5 to 9 kHz: s sounds."""
    time_s = np.arange(4 * RATE_HZ) / RATE_HZ
    song = np.zeros((time_s.size, 2))
    for hz in (220.0, 330.0, 440.0):
        song += 0.08 * np.sin(2 * np.pi * hz * time_s)[:, None]
    song += 0.001 * noise(time_s.size, 1.0, 3)
    band = butter(4, (5200.0, 8800.0), "bandpass", fs=RATE_HZ, output="sos")
    hiss = sosfilt(band, noise(time_s.size, 1.0, 4), axis=0)
    for place_s in (0.5, 1.2, 2.0, 2.6, 3.4):
        song += 0.15 * hiss * np.exp(-0.5 * ((time_s - place_s) / 0.025) ** 2)[:, None]
    return Clip(song.astype(np.float32), RATE_HZ)


@lru_cache(maxsize=2)
def ending(decay_s: float = 0.3) -> Clip:
    """One second of noise, then its exponential decay for three: amplitude falls by e in ``decay_s``."""
    time_s = np.arange(4 * RATE_HZ) / RATE_HZ
    level = np.exp(-np.maximum(time_s - 1.0, 0.0) / decay_s)
    return Clip((0.1 * noise(time_s.size, 1.0, 6) * level[:, None]).astype(np.float32), RATE_HZ)


def white(seconds: float, rms: float, rate_hz: int = RATE_HZ) -> Clip:
    """White noise of an RMS value."""
    return Clip(noise(int(seconds * rate_hz), rms, 7).astype(np.float32), rate_hz)
