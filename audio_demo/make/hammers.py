"""A grand piano: three touches of different brightness, hammers, dampers and the air around the strings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .air import with_air
from .filters import Band, bell, equalise, high_cut, high_shelf, low_cut
from .score import Note, dice
from .signal import RATE_HZ, Audio, add_at, db_to_gain, frames_in, silence
from .soundfont import play

GRAND = 0

# The sound font sounds alike at every velocity; a felt hammer does not. Highest velocity of each
# touch and its colour (common practice, no source).
_TOUCHES: tuple[tuple[int, tuple[Band, ...]], ...] = (
    (62, (high_shelf(1500.0, -5.0), high_cut(7000.0))),
    (90, (high_shelf(3000.0, 1.0),)),
    (127, (bell(2600.0, 2.0, 0.8), high_shelf(4000.0, 4.0))),
)


def _strings(notes: Sequence[Note], seconds: float) -> Audio:
    """The notes of the sound font, each through the colour of its touch."""
    out = silence(seconds)
    lowest = 0
    for highest, colour in _TOUCHES:
        touched = [note for note in notes if lowest < note.velocity <= highest]
        if touched:
            out += equalise(play(touched, program=GRAND, seconds=seconds), colour)
        lowest = highest
    return out


def hammer_noise(notes: Sequence[Note], seconds: float, rng: np.random.Generator) -> Audio:
    """Return felt on steel and the knock of the key bed for every note; low keys to the left."""
    t = np.arange(frames_in(0.09)) / RATE_HZ
    ramp = np.minimum(1.0, t / 0.0008) * np.clip((0.09 - t) / 0.03, 0.0, 1.0)
    out = silence(seconds)
    for note in notes:
        strength = note.velocity / 127.0
        centre_hz = float(rng.uniform(0.85, 1.15)) * 2200.0 * 2.0 ** ((note.key - 60) / 30.0)
        hiss = np.asarray(rng.standard_normal((len(t), 1)), dtype=np.float32)
        felt = equalise(hiss, (low_cut(1200.0), bell(centre_hz, 8.0, 0.9), high_cut(9000.0 + 9000.0 * strength)))
        felt *= (np.exp(-t / 0.006) * ramp)[:, None].astype(np.float32)
        knock = np.sin(2.0 * np.pi * rng.uniform(110.0, 150.0) * t) * np.exp(-t / 0.016) * ramp
        hit = strength**1.6 * felt + 0.5 * strength**1.2 * knock[:, None]
        angle = np.pi / 4.0 + 0.35 * np.clip((note.key - 62) / 30.0, -1.0, 1.0)
        both = hit * np.sqrt(2.0) * np.array([np.cos(angle), np.sin(angle)])
        add_at(out, np.asarray(both, dtype=np.float32), note.start_s)
    return out


def pedal_noise(changes_s: Sequence[float], seconds: float, rng: np.random.Generator) -> Audio:
    """Return the dampers leaving and touching the strings: a short breath at each change of pedal."""
    t = np.arange(frames_in(0.22)) / RATE_HZ
    shape = (np.minimum(1.0, t / 0.05) * np.exp(-t / 0.06) * np.clip((0.22 - t) / 0.06, 0.0, 1.0))[:, None]
    out = silence(seconds)
    for change_s in changes_s:
        hiss = np.asarray(rng.standard_normal((len(t), 2)), dtype=np.float32)
        breath = equalise(hiss, (low_cut(150.0), bell(420.0, 5.0, 0.8), high_cut(3500.0)))
        add_at(out, np.asarray(breath * shape, dtype=np.float32), change_s - 0.04, float(rng.uniform(0.5, 1.0)))
    return out


def _against(noise: Audio, strings: Audio, level_db: float) -> Audio:
    """Noise at a level against the highest peak of the strings."""
    return noise * np.float32(db_to_gain(level_db) * np.abs(strings).max() / np.abs(noise).max())


def grand_piano(notes: Sequence[Note], pedals_s: Sequence[float], seconds: float, seed: int, part: str) -> Audio:
    """Return a grand piano of two channels, as near as its player would hear it."""
    strings = _strings(notes, seconds)
    hammers = hammer_noise(notes, seconds, dice(seed, f"{part} hammers"))
    pedals = pedal_noise(pedals_s, seconds, dice(seed, f"{part} pedal"))
    colour = (low_cut(6000.0), high_cut(16000.0))
    airy = with_air(strings, dice(seed, f"{part} air"), above_hz=1500.0, bands=colour, level_db=-20.0)
    return airy + _against(hammers, strings, -18.5) + _against(pedals, strings, -44.0)
