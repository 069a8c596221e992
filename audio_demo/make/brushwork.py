"""Brushes and a soft kit: stirring, taps, ride, pedal and a round kick, from a sound font and shaped noise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from . import noises
from .filters import bell, equalise, high_cut, high_shelf, low_cut
from .score import Note, dice
from .signal import RATE_HZ, Audio, add_at, frames_in, layered, silence
from .soundfont import play

# General MIDI drum kits (programs of the drum channel).
JAZZ, BRUSH = 32, 40

# Colour of wire strands on a coated skin (common practice, no source).
_WIRES = (low_cut(500.0), bell(2600.0, 3.0, 0.7), high_shelf(7000.0, -3.0), high_cut(15000.0))


def stirring(sweeps: Sequence[tuple[float, float, float]], seconds: float, rng: np.random.Generator) -> Audio:
    """Return a brush drawn in circles; a sweep is (start s, length s, strength 0–1); two channels."""
    out = silence(seconds)
    for start_s, length_s, strength in sweeps:
        t = np.arange(frames_in(length_s)) / RATE_HZ
        hiss = np.asarray(rng.standard_normal((len(t), 2)), dtype=np.float32)
        common = np.asarray(rng.standard_normal((len(t), 1)), dtype=np.float32)
        wires = equalise(0.7 * common + 0.5 * hiss, _WIRES)
        turn = t / length_s
        # One circle: pressed hardest a third of the way round, never quite lifted.
        pressure = np.sin(np.pi * turn) ** 0.8 * (0.55 + 0.45 * np.cos(2.0 * np.pi * (turn - 0.35)))
        grain = 1.0 + 0.25 * np.interp(t, np.linspace(0.0, length_s, 60), rng.standard_normal(60))
        angle = np.pi / 4.0 + 0.25 * np.sin(2.0 * np.pi * turn)
        place = np.sqrt(2.0) * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        swept = wires * (pressure * grain)[:, None] * place
        add_at(out, np.asarray(swept, dtype=np.float32), start_s, strength)
    return out


def taps(strokes: Sequence[Note], seconds: float, rng: np.random.Generator) -> Audio:
    """Return strokes of a brush: many strands that land within some milliseconds; two channels."""
    t = np.arange(frames_in(0.25)) / RATE_HZ
    out = silence(seconds)
    for stroke in strokes:
        strength = (stroke.velocity / 127.0) ** 1.7
        landing = np.minimum(1.0, t / 0.003) * np.exp(-t / (0.018 + 0.02 * strength))
        shape = landing + 0.12 * np.minimum(1.0, t / 0.02) * np.exp(-t / 0.07)
        shape *= np.clip((0.25 - t) / 0.05, 0.0, 1.0)
        common = np.asarray(rng.standard_normal((len(t), 1)), dtype=np.float32)
        apart = np.asarray(rng.standard_normal((len(t), 2)), dtype=np.float32)
        wires = equalise(0.85 * common + 0.35 * apart, (*_WIRES, bell(4500.0, 3.0, 0.8)))
        skin = np.sin(2.0 * np.pi * 196.0 * t) * np.exp(-t / 0.05) * np.minimum(1.0, t / 0.004)
        hit = wires * shape[:, None] + 0.9 * skin[:, None] * np.clip((0.25 - t) / 0.05, 0.0, 1.0)[:, None]
        add_at(out, np.asarray(hit, dtype=np.float32), stroke.start_s, strength)
    return out


def _peak(audio: Audio) -> Audio:
    highest = float(np.abs(audio).max())
    return audio / highest if highest > 0.0 else audio


def _snare(strokes: Sequence[Note], seconds: float, seed: int) -> Audio:
    recorded = play(strokes, program=BRUSH, seconds=seconds, drums=True)
    return layered((_peak(recorded), 0.0), (_peak(taps(strokes, seconds, dice(seed, "brush taps"))), -2.0))


def _kick(strokes: Sequence[Note], seconds: float, seed: int) -> Audio:
    """A round kick; its beater is felt, so the layer's click is cut away."""
    recorded = play(strokes, program=JAZZ, seconds=seconds, drums=True)
    layer = noises.kick_layer(strokes, seconds, dice(seed, "soft kick"))
    felt = equalise(layer, (high_cut(1400.0),)).repeat(2, axis=1)
    return layered((_peak(recorded), 0.0), (_peak(felt), -6.0))


def _ride(strokes: Sequence[Note], seconds: float, seed: int) -> Audio:
    recorded = play(strokes, program=JAZZ, seconds=seconds, drums=True)
    plate = noises.cymbal(strokes, seconds, dice(seed, "jazz ride plate"), ring_s=2.6, lowest_hz=900.0)
    return layered((_peak(recorded), 0.0), (_peak(plate), -10.0))


def play_soft_kit(strokes: Mapping[str, Sequence[Note]], seconds: float, seed: int) -> dict[str, Audio]:
    """Return a stem of two channels for every drum of the score."""
    makers = {"brush": _snare, "kick": _kick, "ride": _ride}
    stems: dict[str, Audio] = {}
    for name, part in strokes.items():
        if name in makers:
            stems[name] = makers[name](part, seconds, seed)
        elif name == "shaker":
            stems[name] = noises.shaker(part, seconds, dice(seed, "shaker grains"))
        elif name == "swell cymbal":
            stems[name] = noises.cymbal(part, seconds, dice(seed, "swell cymbal"), ring_s=5.0, lowest_hz=600.0)
        else:
            stems[name] = play(part, program=JAZZ, seconds=seconds, drums=True)
    return stems
