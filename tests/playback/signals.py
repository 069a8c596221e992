"""Signals that say by themselves which frame of which version they are, and how to read them back."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pyebur128

Samples = npt.NDArray[np.float32]
Exact = npt.NDArray[np.float64]

FRAME_UNIT = 2.0**-18
VERSION_UNIT = 2.0**-4


def make_counting(count: int, frames: int) -> Samples:
    """Make versions whose left channel is the frame number and whose right channel is the version.

    Both count from 1, in units of 2^-18 and 2^-4: exact in float32, and never zero.
    """
    versions = np.empty((count, frames, 2), dtype=np.float32)
    versions[:, :, 0] = np.arange(1, frames + 1) * FRAME_UNIT
    versions[:, :, 1] = (np.arange(1, count + 1) * VERSION_UNIT)[:, np.newaxis]
    return versions


def read_frames(heard: Samples) -> npt.NDArray[np.int64]:
    """Read the frame numbers, from 0, where no ramp of the level runs."""
    return np.rint(heard[:, 0].astype(np.float64) / FRAME_UNIT).astype(np.int64) - 1


def read_ramped_frames(heard: Samples, version: int) -> Exact:
    """Read the frame numbers, from 0, of one version under a ramp, which the ratio of the channels undoes."""
    ratio = heard[:, 0].astype(np.float64) / heard[:, 1].astype(np.float64)
    return np.asarray(ratio * (version + 1) * VERSION_UNIT / FRAME_UNIT - 1.0)


def draw_cosine(length: int) -> Exact:
    """Draw the raised cosine from 0 to 1 in so many frames, by its formula; the value 1 is the next frame."""
    return np.array([(1.0 - math.cos(math.pi * age / length)) / 2.0 for age in range(length)])


def count_jumps(frames: npt.NDArray[np.int64], length: int) -> int:
    """Count the places where the next frame of the loop does not follow."""
    return int(np.count_nonzero(frames[1:] != (frames[:-1] + 1) % length))


def second_difference(signal: npt.NDArray[np.float32]) -> float:
    """Give the largest second difference: a click is large there, music is not."""
    return float(np.abs(np.diff(signal.astype(np.float64), 2)).max())


def bound_faded_sine(amplitude: float, omega: float, length: int, overlapping: int = 1) -> float:
    """Bound the second difference of a sine under fades.

    For f(t) = g(t) x(t) the second derivative is g x'' + 2 g' x' + g'' x, with |x| <= A, |x'| <= A w,
    |x''| <= A w^2 for the sine and |g| <= 1, |g'| <= pi / 2T, |g''| <= pi^2 / 2T^2 for a raised cosine
    of T frames; a second difference is a mean of second derivatives. Overlapping fades add their slopes.
    """
    slope, bend = math.pi / (2 * length), math.pi**2 / (2 * length**2)
    return amplitude * (omega**2 + overlapping * (2 * slope * omega + bend))


def make_music(rate_hz: int, seconds: float) -> Samples:
    """Make a loop like music: chords, a bass and drum hits, repeated without a seam, shape (frames, 2)."""
    frames = round(rate_hz * seconds)
    time = np.arange(frames) / rate_hz
    random = np.random.default_rng(5)
    sound = np.zeros((frames, 2))
    for pitch_hz in (55.0, 220.0, 275.0, 330.0, 880.0, 2640.0):
        whole_hz = round(pitch_hz * seconds) / seconds
        for channel in range(2):
            sound[:, channel] += 0.1 * np.sin(2 * math.pi * whole_hz * time + random.uniform(0, 6))
    for beat in range(round(seconds * 2)):
        start = round(beat * rate_hz / 2)
        length = min(rate_hz // 4, frames - start)
        hit = random.standard_normal(length) * np.exp(-np.arange(length) / (0.04 * rate_hz))
        sound[start : start + length] += 0.3 * hit[:, np.newaxis]
    return np.asarray(0.5 * sound / np.abs(sound).max(), dtype=np.float32)


def read_loudness(sound: Samples, rate_hz: int) -> float:
    """Measure the loudness in LUFS with pyebur128, a binding of an independent BS.1770 meter."""
    state = pyebur128.R128State(2, rate_hz, pyebur128.MeasurementMode.MODE_I)
    flat = np.ascontiguousarray(sound, dtype=np.float32)
    state.add_frames(flat.reshape(-1), len(flat))
    return float(pyebur128.get_loudness_global(state))
