"""Sounds made from shaped noise and sines: what the sound font lacks at the top and at the bottom."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy import signal as sps

from .filters import Band, bell, equalise, high_cut, high_shelf, low_cut
from .score import Note
from .signal import RATE_HZ, Audio, Curve, add_at, frames_in, silence


def _time(seconds: float) -> Curve:
    return np.arange(frames_in(seconds)) / RATE_HZ


def _hiss(rng: np.random.Generator, frames: int, channels: int, bands: Sequence[Band]) -> Audio:
    """White noise through an equaliser."""
    return equalise(np.asarray(rng.standard_normal((frames, channels)), dtype=np.float32), bands)


def kick_layer(strokes: Sequence[Note], seconds: float, rng: np.random.Generator) -> Audio:
    """Return a falling sine and the click of the beater for every stroke; one channel."""
    t = _time(0.32)
    sweep_hz = 52.0 + 95.0 * np.exp(-t / 0.016) + 14.0 * np.exp(-t / 0.09)
    body = np.sin(2.0 * np.pi * np.cumsum(sweep_hz) / RATE_HZ) * np.exp(-t / 0.085)
    body *= np.minimum(1.0, t / 0.0015) * np.clip((0.32 - t) / 0.05, 0.0, 1.0)
    out = silence(seconds, 1)
    for stroke in strokes:
        strength = (stroke.velocity / 127.0) ** 1.6
        click = _hiss(rng, len(t), 1, (low_cut(1800.0), bell(3600.0, 8.0, 1.2), high_cut(9000.0)))
        click *= (np.exp(-t / 0.0035) * np.minimum(1.0, t / 0.0004))[:, None].astype(np.float32)
        hit = 0.9 * body[:, None] + 0.35 * strength * click
        add_at(out, np.asarray(hit, dtype=np.float32), stroke.start_s, strength)
    return out


def snare_layer(strokes: Sequence[Note], seconds: float, rng: np.random.Generator) -> Audio:
    """Return the wires and the shell of a snare for every stroke; two channels, nearly the same."""
    t = _time(0.4)
    out = silence(seconds)
    for stroke in strokes:
        strength = (stroke.velocity / 127.0) ** 1.8
        common = _hiss(rng, len(t), 1, _WIRES)
        apart = _hiss(rng, len(t), 2, _WIRES)
        decay_s = 0.05 + 0.04 * strength
        wires = (0.85 * common + 0.5 * apart) * (0.7 * np.exp(-t / decay_s) + 0.3 * np.exp(-t / 0.14))[:, None]
        shell = sum(
            level * np.sin(2.0 * np.pi * hz * t * (1.0 + 0.03 * np.exp(-t / 0.02))) * np.exp(-t / decay)
            for hz, level, decay in ((186.0, 1.0, 0.075), (331.0, 0.5, 0.05), (469.0, 0.2, 0.03))
        )
        crack = _hiss(rng, len(t), 1, (low_cut(900.0), bell(2400.0, 6.0, 0.9))) * np.exp(-t / 0.006)[:, None]
        ramp = np.minimum(1.0, t / 0.0005)[:, None]
        hit = (0.55 * wires + 0.8 * np.asarray(shell)[:, None] + 0.7 * crack) * ramp
        add_at(out, np.asarray(hit, dtype=np.float32), stroke.start_s, strength)
    return out


_WIRES = (low_cut(1500.0), bell(4200.0, 4.0, 0.8), high_shelf(9000.0, -1.0), high_cut(17000.0))


def shaker(strokes: Sequence[Note], seconds: float, rng: np.random.Generator) -> Audio:
    """Return a shaker: grains that swell and stop; two channels, panned by the mix."""
    t = _time(0.12)
    shape = np.minimum(1.0, t / 0.018) ** 1.5 * np.exp(-np.maximum(t - 0.018, 0.0) / 0.022)
    shape *= np.clip((0.12 - t) / 0.02, 0.0, 1.0)
    out = silence(seconds)
    for stroke in strokes:
        strength = (stroke.velocity / 127.0) ** 1.5
        colour = (low_cut(4200.0), low_cut(3000.0), bell(7800.0, 3.0, 0.9), high_cut(18000.0))
        common = _hiss(rng, len(t), 1, colour)
        grains = (common + 0.3 * _hiss(rng, len(t), 2, colour)) * shape[:, None]
        add_at(out, np.asarray(grains, dtype=np.float32), stroke.start_s - 0.012, strength)
    return out


def _plate(rng: np.random.Generator, seconds: float, lowest_hz: float) -> Audio:
    """A cymbal: many inharmonic partials, the higher the shorter, over shaped noise; two channels."""
    t = _time(seconds)
    out = np.zeros((len(t), 2))
    for hz in lowest_hz * (16000.0 / lowest_hz) ** rng.uniform(0.0, 1.0, 150):
        decay_s = rng.uniform(0.6, 1.3) * seconds * 0.3 * (lowest_hz / hz) ** 0.35
        angle = rng.uniform(0.15, 0.85) * np.pi / 2.0
        wave = np.sin(2.0 * np.pi * hz * t + rng.uniform(0.0, 6.28)) * np.exp(-t / decay_s)
        out += rng.uniform(0.3, 1.0) * wave[:, None] * np.array([np.cos(angle), np.sin(angle)])
    noise = _hiss(rng, len(t), 2, (low_cut(3500.0), bell(9000.0, 4.0, 0.6)))
    fade = 0.7 * np.exp(-t / 0.09) + 0.3 * np.exp(-t / (0.22 * seconds))
    out = out / 8.0 + 0.8 * noise * fade[:, None]
    out *= np.minimum(1.0, t / 0.002)[:, None] * np.clip((seconds - t) / (0.3 * seconds), 0.0, 1.0)[:, None]
    return np.asarray(out, dtype=np.float32)


def cymbal(
    strokes: Sequence[Note], seconds: float, rng: np.random.Generator, *, ring_s: float, lowest_hz: float
) -> Audio:
    """Return a cymbal struck again and again; a new stroke adds to the ringing of the last."""
    out = silence(seconds)
    plate = _plate(rng, ring_s, lowest_hz)
    for stroke in strokes:
        # Each stroke hits another place: a slow tilt of the colour.
        colour = (high_shelf(6000.0, float(rng.uniform(-2.0, 2.0))),)
        add_at(out, equalise(plate, colour), stroke.start_s, (stroke.velocity / 127.0) ** 1.7)
    return out


def pick_noise(touches: Sequence[tuple[float, float]], frames: int, rng: np.random.Generator) -> Audio:
    """Return the scrape of a pick for every string touched; one channel."""
    t = _time(0.02)
    shape = (np.minimum(1.0, t / 0.0006) * np.exp(-t / 0.0032))[:, None]
    out = np.zeros((frames, 1), dtype=np.float32)
    for start_s, strength in touches:
        centre_hz = float(rng.uniform(3500.0, 7500.0))
        scrape = _hiss(rng, len(t), 1, (low_cut(2200.0), bell(centre_hz, 9.0, 1.5), high_cut(16000.0)))
        add_at(out, np.asarray(scrape * shape, dtype=np.float32), start_s, strength**1.5)
    return out


def swell(start_s: float, end_s: float, seconds: float, rng: np.random.Generator) -> Audio:
    """Return a reversed cymbal that grows into a downbeat and stops there; two channels."""
    length_s = end_s - start_s
    t = _time(length_s)
    noise = _hiss(rng, len(t), 2, (low_cut(1800.0), bell(7000.0, 3.0, 0.7)))
    rise = (t / length_s) ** 3.0 * np.clip((length_s - t) / 0.012, 0.0, 1.0)
    out = silence(seconds)
    add_at(out, np.asarray(noise * rise[:, None], dtype=np.float32), start_s)
    return out


def widened(audio: Audio, rng: np.random.Generator, *, amount: float) -> Audio:
    """Return one channel made two by short, opposite noise filters; their sum is the original again."""
    response = rng.standard_normal(frames_in(0.02)) * np.exp(-_time(0.02) / 0.006)
    response[: frames_in(0.001)] = 0.0
    response /= np.sqrt(np.sum(response**2))
    centre = audio[:, 0].astype(np.float64)
    side = amount * sps.oaconvolve(centre, response)[: len(centre)]
    return np.asarray(np.stack([centre + side, centre - side], axis=1), dtype=np.float32)
