"""Sounds with known properties, made here and not by what is tested."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.signal import butter, sosfilt

Wave = npt.NDArray[np.float64]


def sine(
    frequency_hz: float, peak: float, frames: int, rate_hz: int, phase_deg: float = 0.0, fade_s: float = 0.0
) -> Wave:
    """Make a stereo sine of a peak amplitude, shape (frames, 2), with linear fades at both ends if wished."""
    wave = peak * np.sin(2 * np.pi * frequency_hz / rate_hz * np.arange(frames) + np.deg2rad(phase_deg))
    if fade_s:
        fade = np.linspace(0, 1, int(fade_s * rate_hz))
        wave[: fade.size] *= fade
        wave[-fade.size :] *= fade[::-1]
    return np.repeat(wave[:, None], 2, axis=1)


def tone_steps(parts: tuple[tuple[float, float], ...], rate_hz: int) -> Wave:
    """Make a stereo 1 kHz sine without breaks whose peak, dBFS, goes through (seconds, level) parts."""
    level = np.concatenate([np.full(round(seconds * rate_hz), 10 ** (db / 20)) for seconds, db in parts])
    return np.asarray(sine(1000.0, 1.0, level.size, rate_hz) * level[:, None], dtype=np.float64)


def noise(frames: int, rms: float, seed: int) -> Wave:
    """Make stereo white noise of an RMS value, shape (frames, 2)."""
    return rms * np.random.default_rng(seed).standard_normal((frames, 2))


@lru_cache(maxsize=16)
def music_like(frames: int, rate_hz: int, seed: int) -> Wave:
    """Make a beat: decaying low and bright hits over a chord and noise, all of it round the loop without a step."""
    rng = np.random.default_rng(seed)
    time = np.arange(frames) / rate_hz
    length = frames / rate_hz
    song = 0.01 * noise(frames, 1.0, seed + 2)
    for note in (110.0, 164.8, 220.0, 277.2):
        whole = round(note * length) / length
        for partial in range(1, 5):
            wave = np.exp(1j * (2 * np.pi * whole * partial * time + rng.uniform(0, 2 * np.pi)))
            song += 0.035 / partial * np.stack([wave.real, wave.imag], axis=1)
    since = time[: min(frames, rate_hz * 2 // 5), None]
    band = butter(2, (900, 14000), "bandpass", fs=rate_hz, output="sos")
    snare = sosfilt(band, noise(since.size, 1.0, seed + 1), axis=0) * np.exp(-since / 0.05)
    kick = np.sin(2 * np.pi * (50 * since + 4 * (1 - np.exp(-since / 0.03)))) * np.exp(-since / 0.09)
    for number, place in enumerate(range(0, frames - rate_hz // 4, rate_hz // 2)):
        where = (place + np.arange(since.size)) % frames
        song[where] += (0.5 * kick if number % 2 == 0 else 0.28 * snare) * rng.uniform(0.7, 1.0)
    song.setflags(write=False)
    return song
