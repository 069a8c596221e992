"""The shape of sound in this workshop, and the few operations every module needs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 48_000

# Always (frames, channels); one or two channels, in the range −1 to 1 only once the song is mixed.
Audio: TypeAlias = NDArray[np.float32]
Curve: TypeAlias = NDArray[np.float64]


def db_to_gain(level_db: float) -> float:
    """Return the factor of a level in decibels."""
    return float(10.0 ** (level_db / 20.0))


def frames_in(seconds: float) -> int:
    """Return a time in whole frames at the workshop's rate."""
    return round(seconds * RATE_HZ)


def silence(seconds: float, channels: int = 2) -> Audio:
    """Return silence of the given length and number of channels."""
    return np.zeros((frames_in(seconds), channels), dtype=np.float32)


def add_at(target: Audio, sound: Audio, start_s: float, gain: float = 1.0) -> None:
    """Add a sound into a longer one in place; what would lie outside it is dropped."""
    start = frames_in(start_s)
    if start < 0:
        sound, start = sound[-start:], 0
    end = min(len(target), start + len(sound))
    if end > start:
        target[start:end] += np.float32(gain) * sound[: end - start]


def layered(*layers: tuple[Audio, float]) -> Audio:
    """Return the sum of equally long sounds, each with a gain in decibels."""
    total = np.zeros_like(layers[0][0])
    for sound, gain_db in layers:
        total += np.float32(db_to_gain(gain_db)) * sound
    return total


def mono(audio: Audio) -> Audio:
    """Return the mean of the channels as one channel."""
    return np.asarray(audio.mean(axis=1, keepdims=True), dtype=np.float32)


def delayed(audio: Audio, delay_ms: float) -> Audio:
    """Return the sound later by a whole number of frames, cut to the same length."""
    shift = frames_in(delay_ms / 1000.0)
    out = np.zeros_like(audio)
    out[shift:] = audio[: len(audio) - shift]
    return out


def ride(points: Sequence[tuple[float, float]], frames: int) -> Curve:
    """Return a gain curve through (seconds, decibels) points, straight in decibels between them."""
    times = np.array([time for time, _ in points])
    levels = np.array([level for _, level in points])
    curve = np.interp(np.arange(frames) / RATE_HZ, times, levels)
    return np.asarray(10.0 ** (curve / 20.0), dtype=np.float64)
