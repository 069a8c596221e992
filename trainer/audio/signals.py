"""Test signals with known properties."""

from __future__ import annotations

import numpy as np

from trainer.audio.clip import Clip


def make_sine(frequency_hz: float, peak_dbfs: float, duration_s: float, rate_hz: int) -> Clip:
    """Make a stereo sine, in phase on both channels, of a peak level in dBFS."""
    time_s = np.arange(int(round(duration_s * rate_hz))) / rate_hz
    wave = 10 ** (peak_dbfs / 20) * np.sin(2 * np.pi * frequency_hz * time_s)
    return Clip(np.repeat(wave[:, None], 2, axis=1).astype(np.float32), rate_hz)


def make_pink_noise(rms_dbfs: float, frames: int, rate_hz: int, rng: np.random.Generator) -> Clip:
    """Make stereo pink noise, periodic in its length, 20 Hz upward, of an RMS level in dBFS on each channel."""
    frequencies = np.fft.rfftfreq(frames, 1 / rate_hz)
    shape = np.where(frequencies >= 20.0, 1 / np.sqrt(np.maximum(frequencies, 20.0)), 0.0)
    spectrum = rng.standard_normal((frequencies.size, 2)) + 1j * rng.standard_normal((frequencies.size, 2))
    noise = np.fft.irfft(spectrum * shape[:, None], n=frames, axis=0)
    noise *= 10 ** (rms_dbfs / 20) / np.sqrt(np.mean(noise**2, axis=0))
    return Clip(noise.astype(np.float32), rate_hz)
