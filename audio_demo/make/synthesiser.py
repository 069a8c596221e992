"""A subtractive synthesiser: detuned band-limited waves, a filter with its own envelope, an amplitude envelope."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .score import Note, dice, key_hz
from .signal import RATE_HZ, Audio, Curve, add_at, frames_in, silence
from .sweep import swept
from .waves import Shape, oscillate

# Pitch moves slowly: worked out every 5 ms and straight between.
_PITCH_STEP = 240


@dataclass(frozen=True)
class Patch:
    """A sound: waves, their spread in cents and in the picture, envelopes in ms, filter in hertz and octaves."""

    shape: Shape
    voices: int
    spread_cents: float
    width: float
    attack_ms: float
    decay_ms: float
    sustain: float
    release_ms: float
    corner_hz: float = 19_000.0
    sweep_octaves: float = 0.0
    sweep_ms: float = 120.0
    q: float = 1.1
    vibrato_cents: float = 0.0
    octave_below: float = 0.0


def _envelope(patch: Patch, held_s: float) -> Curve:
    """Attack, decay to the sustained level, release after the note; ends at nothing."""
    release_s = patch.release_ms / 1000.0
    t = np.arange(frames_in(held_s + 5.0 * release_s)) / RATE_HZ
    rise = np.minimum(1.0, t / (patch.attack_ms / 1000.0))
    since = np.maximum(t - patch.attack_ms / 1000.0, 0.0)
    level = patch.sustain + (1.0 - patch.sustain) * np.exp(-since / (patch.decay_ms / 1000.0))
    fall = np.exp(-np.maximum(t - held_s, 0.0) / release_s)
    return np.asarray(rise * level * fall * np.clip((t[-1] - t) / (0.5 * release_s), 0.0, 1.0), dtype=np.float64)


def _pitch(patch: Patch, key: float, frames: int, rng: np.random.Generator) -> Curve:
    """Pitch over time of one voice, with vibrato that comes in late and slow drift."""
    place = np.arange(0, frames + _PITCH_STEP, _PITCH_STEP)
    t = place / RATE_HZ
    wobble = patch.vibrato_cents * np.clip((t - 0.2) / 0.3, 0.0, 1.0)
    cents = wobble * np.sin(2.0 * np.pi * (5.1 * t + rng.uniform(0.0, 1.0)))
    cents = cents + 2.0 * np.sin(2.0 * np.pi * (rng.uniform(0.2, 0.5) * t + rng.uniform(0.0, 1.0)))
    pitch_hz = key_hz(key) * 2.0 ** (cents / 1200.0)
    return np.asarray(np.interp(np.arange(frames), place, pitch_hz), dtype=np.float64)


def _stack(patch: Patch, key: int, frames: int, rng: np.random.Generator) -> Audio:
    """All voices of one note, spread over pitch and picture; two channels."""
    out = np.zeros((frames, 2))
    middle = (patch.voices - 1) / 2.0
    for number in range(patch.voices):
        place = (number - middle) / max(middle, 1.0)
        pitch_hz = _pitch(patch, key + patch.spread_cents * place / 100.0, frames, rng)
        wave = oscillate(patch.shape, pitch_hz, phase=float(rng.uniform(0.0, 1.0)))
        # Neighbours in pitch go to opposite sides, so that neither side is sharp.
        side = patch.width * abs(place) * (1.0 if number % 2 else -1.0)
        angle = (side + 1.0) * np.pi / 4.0
        out += wave[:, None] * np.array([np.cos(angle), np.sin(angle)])
    if patch.octave_below > 0.0:
        low = oscillate("square", _pitch(patch, key - 12.0, frames, rng))
        out += patch.octave_below * np.sqrt(patch.voices / 2.0) * low[:, None]
    return np.asarray(out / np.sqrt(patch.voices), dtype=np.float32)


def _sound(patch: Patch, note: Note, rng: np.random.Generator) -> Audio:
    """One note, harder ones brighter."""
    shape = _envelope(patch, note.length_s)
    strength = note.velocity / 127.0
    wave = _stack(patch, note.key, len(shape), rng)
    if patch.corner_hz < 19_000.0:
        t = np.arange(len(shape)) / RATE_HZ
        octaves = patch.sweep_octaves * (0.4 + 0.6 * strength) * np.exp(-t / (patch.sweep_ms / 1000.0))
        wave = swept(wave, patch.corner_hz * 2.0**octaves, q=patch.q)
    return np.asarray(wave * (shape * strength**1.3)[:, None], dtype=np.float32)


def play_patch(notes: Sequence[Note], patch: Patch, seconds: float, seed: int, part: str) -> Audio:
    """Return a part as the synthesiser plays it, dry; two channels.

    Parameters
    ----------
    notes : sequence of Note
        The part.
    patch : Patch
        The sound.
    seconds : float
        Length of the result.
    seed : int
        Seed of the song.
    part : str
        Name of the part, so that each has its own phases and drift.
    """
    rng = dice(seed, f"{part} waves")
    out = silence(seconds)
    for note in notes:
        add_at(out, _sound(patch, note, rng), note.start_s)
    return out


def sub_bass(notes: Sequence[Note], seconds: float, *, fall: float, decay_s: float) -> Audio:
    """Return a sine bass that starts ``fall`` times its pitch too high and dies away; one channel.

    A note ends where its length ends, within 30 ms; each starts at a zero crossing.
    """
    out = silence(seconds, 1)
    for note in notes:
        t = np.arange(frames_in(note.length_s + 0.03)) / RATE_HZ
        pitch_hz = key_hz(note.key) * (1.0 + fall * np.exp(-t / 0.022))
        wave = oscillate("sine", pitch_hz)
        shape = np.minimum(1.0, t / 0.004) * np.exp(-t / decay_s)
        shape *= np.sin(0.5 * np.pi * np.clip((t[-1] - t) / 0.03, 0.0, 1.0)) ** 2
        hit = np.asarray((wave * shape)[:, None], dtype=np.float32)
        add_at(out, hit, note.start_s, (note.velocity / 127.0) ** 1.2)
    return out
