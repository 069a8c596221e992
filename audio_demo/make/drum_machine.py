"""Drums made by oscillators and noise: kick, clap, snap, hats; no two strokes quite alike."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .filters import Band, bell, equalise, high_cut, high_shelf, low_cut
from .score import Note, dice
from .signal import RATE_HZ, Audio, Curve, add_at, frames_in, silence
from .waves import oscillate

# Frequencies without a common measure, in hertz: their squares together make the metal of the hats.
_METAL_HZ = (311.0, 421.7, 547.3, 699.1, 811.9, 1013.3)
_CLAP = (low_cut(650.0), bell(1250.0, 7.0, 1.4), bell(2600.0, 3.0, 1.0), high_shelf(7000.0, -4.0))
_SNAP = (low_cut(1800.0), bell(4300.0, 6.0, 0.9), high_cut(16_000.0))


def _time(seconds: float) -> Curve:
    return np.arange(frames_in(seconds)) / RATE_HZ


def _hiss(rng: np.random.Generator, frames: int, channels: int, bands: Sequence[Band]) -> Audio:
    return equalise(np.asarray(rng.standard_normal((frames, channels)), dtype=np.float32), bands)


def kick(strokes: Sequence[Note], seconds: float, seed: int, *, floor_hz: float, length_s: float) -> Audio:
    """Return a kick whose pitch falls to ``floor_hz``; one channel."""
    rng = dice(seed, "machine kick")
    t = _time(length_s)
    pitch_hz = floor_hz * (1.0 + 1.3 * np.exp(-t / 0.032)) + 240.0 * np.exp(-t / 0.007)
    body = oscillate("sine", pitch_hz) * (0.75 * np.exp(-t / (0.42 * length_s)) + 0.25 * np.exp(-t / 0.03))
    body *= np.minimum(1.0, t / 0.0008) * np.clip((length_s - t) / 0.06, 0.0, 1.0)
    out = silence(seconds, 1)
    for stroke in strokes:
        strength = (stroke.velocity / 127.0) ** 1.4
        click = _hiss(rng, len(t), 1, (low_cut(1500.0), bell(3400.0, 8.0, 1.1), high_cut(11_000.0)))
        click *= (np.exp(-t / 0.0028) * np.minimum(1.0, t / 0.0003))[:, None].astype(np.float32)
        add_at(out, np.asarray(body[:, None] + 0.3 * strength * click, dtype=np.float32), stroke.start_s, strength)
    return out


def _bursts(t: Curve, rng: np.random.Generator, hands: int) -> Curve:
    """Envelope of several hands: the first on the beat and strongest, the others close behind, then a tail."""
    shape = 0.4 * np.exp(-t / 0.075) * np.minimum(1.0, t / 0.012)
    late_s = np.concatenate([[0.0], np.sort(rng.uniform(0.006, 0.026, hands - 1))])
    for number, start_s in enumerate(late_s):
        since = np.maximum(t - start_s, 0.0)
        burst = np.exp(-since / 0.0055) * np.minimum(1.0, since / 0.0004)
        shape = shape + (1.3 if number == 0 else rng.uniform(0.2, 0.4)) * burst
    return np.asarray(shape * np.clip((t[-1] - t) / 0.05, 0.0, 1.0), dtype=np.float64)


def clap(strokes: Sequence[Note], seconds: float, seed: int, part: str) -> Audio:
    """Return claps of four hands, each stroke with its own; two channels."""
    rng = dice(seed, part)
    t = _time(0.42)
    out = silence(seconds)
    for stroke in strokes:
        both = 0.8 * _hiss(rng, len(t), 1, _CLAP) + 0.6 * _hiss(rng, len(t), 2, _CLAP)
        hit = both * _bursts(t, rng, 4)[:, None]
        add_at(out, np.asarray(hit, dtype=np.float32), stroke.start_s, (stroke.velocity / 127.0) ** 1.6)
    return out


def snap(strokes: Sequence[Note], seconds: float, seed: int) -> Audio:
    """Return a short bright snare: two falling tones under shaped noise; two channels."""
    rng = dice(seed, "machine snap")
    t = _time(0.24)
    tones = np.zeros(len(t))
    for hz, level, decay_s in ((201.0, 1.0, 0.05), (337.0, 0.6, 0.032)):
        tones += (
            level
            * np.sin(2.0 * np.pi * np.cumsum(hz * (1.0 + 0.5 * np.exp(-t / 0.006))) / RATE_HZ)
            * np.exp(-t / decay_s)
        )
    out = silence(seconds)
    for stroke in strokes:
        strength = (stroke.velocity / 127.0) ** 1.6
        both = 0.9 * _hiss(rng, len(t), 1, _SNAP) + 0.45 * _hiss(rng, len(t), 2, _SNAP)
        noise = both * (0.5 * np.exp(-t / (0.03 + 0.03 * strength)) + 1.3 * np.exp(-t / 0.004))[:, None]
        ramp = (np.minimum(1.0, t / 0.0004) * np.clip((0.24 - t) / 0.03, 0.0, 1.0))[:, None]
        add_at(out, np.asarray((0.8 * tones[:, None] + noise) * ramp, dtype=np.float32), stroke.start_s, strength)
    return out


def _metal(seconds: float, rng: np.random.Generator) -> Audio:
    """A long stretch of the hats' metal, from which every stroke takes another piece; two channels."""
    frames = frames_in(seconds)
    squares = np.zeros((frames, 2))
    for hz in _METAL_HZ:
        wave = oscillate("square", np.full(frames, hz * float(rng.uniform(0.99, 1.01))))
        angle = rng.uniform(0.2, 0.8) * np.pi / 2.0
        squares += wave[:, None] * np.array([np.cos(angle), np.sin(angle)])
    noise = rng.standard_normal((frames, 1)) + 0.4 * rng.standard_normal((frames, 2))
    both = np.asarray(squares / 2.5 + 0.55 * noise, dtype=np.float32)
    return equalise(both, (low_cut(6500.0), low_cut(5500.0), bell(9500.0, 3.0, 0.8), high_cut(18_500.0)))


def hat(strokes: Sequence[Note], seconds: float, seed: int, part: str, *, ring_ms: float) -> Audio:
    """Return a hat that rings for ``ring_ms`` (to a third); harder strokes ring longer and brighter."""
    rng = dice(seed, part)
    metal = _metal(4.0, rng)
    out = silence(seconds)
    for stroke in strokes:
        strength = (stroke.velocity / 127.0) ** 1.5
        ring_s = ring_ms / 1000.0 * (0.7 + 0.5 * strength) * float(rng.uniform(0.9, 1.1))
        t = _time(5.0 * ring_s)
        start = int(rng.integers(0, len(metal) - len(t)))
        shape = np.exp(-t / ring_s) * np.minimum(1.0, t / 0.0005) * np.clip((t[-1] - t) / ring_s, 0.0, 1.0)
        piece = equalise(metal[start : start + len(t)] * shape[:, None], (high_shelf(9000.0, 4.0 * strength - 3.0),))
        add_at(out, np.asarray(piece, dtype=np.float32), stroke.start_s, strength)
    return out
