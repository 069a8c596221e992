"""Rooms made of noise: reflections, then a tail whose decay time depends on frequency."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import signal as sps

from .filters import Band, convolve, equalise
from .signal import RATE_HZ, Audio, Curve, frames_in

# Band edges between which the tail may decay at its own pace, in hertz.
_EDGES_HZ = (250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0)


@dataclass(frozen=True)
class Space:
    """A reverberant space: ``decay_s`` holds seven RT60 values, from below 250 Hz to above 8 kHz."""

    decay_s: tuple[float, ...]
    predelay_ms: float
    build_ms: float
    reflections: int
    reflection_span_ms: float
    reflections_db: float


PLATE = Space((1.3, 1.6, 1.75, 1.7, 1.45, 1.15, 0.8), 28.0, 4.0, 0, 1.0, 0.0)
ROOM = Space((0.45, 0.5, 0.5, 0.48, 0.42, 0.36, 0.28), 6.0, 2.0, 22, 38.0, 2.0)
HALL = Space((2.0, 2.3, 2.4, 2.2, 1.8, 1.3, 0.8), 42.0, 18.0, 14, 70.0, -4.0)


def _tail(space: Space, rng: np.random.Generator, frames: int) -> Curve:
    """Noise split into bands, each with its own exponential decay; shape (frames, 2)."""
    time_s = np.arange(frames) / RATE_HZ
    rest = rng.standard_normal((frames, 2))
    out = np.zeros((frames, 2))
    for edge_hz, decay_s in zip(_EDGES_HZ, space.decay_s, strict=False):
        sections = sps.butter(4, edge_hz, "lowpass", fs=RATE_HZ, output="sos")
        low = sps.sosfiltfilt(sections, rest, axis=0)
        out += low * (10.0 ** (-3.0 * time_s / decay_s))[:, None]
        rest = rest - low
    out += rest * (10.0 ** (-3.0 * time_s / space.decay_s[-1]))[:, None]
    return np.asarray(out * (1.0 - np.exp(-time_s / (space.build_ms / 1000.0)))[:, None])


def _reflections(space: Space, rng: np.random.Generator, frames: int) -> Curve:
    """A few single arrivals, later ones weaker, scattered between the two channels."""
    out = np.zeros((frames, 2))
    times_ms = np.sort(rng.uniform(1.0, space.reflection_span_ms, space.reflections))
    for time_ms in times_ms:
        level = rng.choice((-1.0, 1.0)) * 10.0 ** (-0.45 * time_ms / space.reflection_span_ms)
        angle = rng.uniform(0.0, np.pi / 2.0)
        out[frames_in(time_ms / 1000.0)] += level * np.array([np.cos(angle), np.sin(angle)])
    return out


def impulse_response(space: Space, rng: np.random.Generator) -> Curve:
    """Return the space's impulse response of unit energy, shape (frames, 2)."""
    frames = frames_in(1.25 * max(space.decay_s))
    tail = _tail(space, rng, frames)
    tail /= np.sqrt(np.sum(tail**2) / 2.0)
    early = _reflections(space, rng, frames)
    if space.reflections:
        early *= 10.0 ** (space.reflections_db / 20.0) / np.sqrt(np.sum(early**2) / 2.0)
    both = tail + early
    both[-frames // 10 :] *= np.linspace(1.0, 0.0, frames // 10)[:, None]
    both /= np.sqrt(np.sum(both**2) / 2.0)
    return np.concatenate([np.zeros((frames_in(space.predelay_ms / 1000.0), 2)), both])


def reverberate(send: Audio, space: Space, rng: np.random.Generator, bands: tuple[Band, ...]) -> Audio:
    """Return the space's answer to a stereo send, without the direct sound."""
    return equalise(convolve(send, impulse_response(space, rng)), bands)
