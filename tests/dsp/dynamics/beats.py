"""Loops for tests of compressors: kick and snare apart, a chord and bass that go on, s sounds if wished."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.signal import butter, sosfilt

from tests.measure.sounds import noise
from trainer.audio.clip import Clip

BEAT_S = 0.5


@lru_cache(maxsize=8)
def make_beat(rate_hz: int = 48000, seconds: int = 4, sibilants: bool = False) -> Clip:
    """Make a loop at 120 beats a minute: kicks on even beats, snares on odd ones, all of it round the loop."""
    frames = seconds * rate_hz
    time = np.arange(frames) / rate_hz
    song = 0.003 * noise(frames, 1.0, 1)
    for note, level in ((55.0, 0.05), (220.0, 0.03), (277.0, 0.03), (330.0, 0.03)):
        wave = level * np.sin(2 * np.pi * round(note) * time)
        song += wave[:, None]
    since = np.arange(int(0.3 * rate_hz)) / rate_hz
    kick = 0.7 * np.sin(2 * np.pi * (52 * since + 3 * (1 - np.exp(-since / 0.02)))) * np.exp(-since / 0.06)
    bright = sosfilt(butter(2, (900, 8000), "bandpass", fs=rate_hz, output="sos"), noise(since.size, 1.0, 2)[:, 0])
    snare = 0.5 * bright * np.exp(-since / 0.05)
    ess = sosfilt(butter(4, (5000, 9000), "bandpass", fs=rate_hz, output="sos"), noise(since.size, 1.0, 3)[:, 0])
    for number in range(int(seconds / BEAT_S)):
        song[_place(number * BEAT_S + 0.1, since.size, frames, rate_hz)] += (snare if number % 2 else kick)[:, None]
        if sibilants and number % 2 == 0:
            window = 0.3 * np.sin(np.pi * since / since[-1]) ** 2
            song[_place(number * BEAT_S + 0.2, since.size, frames, rate_hz)] += (ess * window)[:, None]
    return Clip(song.astype(np.float32), rate_hz)


def _place(start_s: float, size: int, frames: int, rate_hz: int) -> np.ndarray:
    return (round(start_s * rate_hz) + np.arange(size)) % frames
