"""Drum patterns as strings of sixteenths, and the hand that plays them unevenly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .score import Note, Timeline, dice

# Sound font keys of the General MIDI percussion map.
KICK, SIDE_STICK, SNARE, SNARE_HARD = 36, 37, 38, 40
CLOSED_HAT, PEDAL_HAT, OPEN_HAT = 42, 44, 46
TOM_LOW, TOM_MID, TOM_HIGH = 43, 47, 50
CRASH, CRASH_TWO, RIDE, RIDE_BELL, TAMBOURINE = 49, 57, 51, 53, 54

# How hard each sign is struck, as a MIDI velocity.
STROKES = {"X": 122, "x": 106, "o": 88, "-": 64, "g": 34}
_STEPS_PER_BEAT = 4


@dataclass(frozen=True)
class Feel:
    """Unevenness of a player: timing spread and lateness in ms, velocity spread, swing of off-sixteenths."""

    spread_ms: float
    late_ms: float
    velocity_spread: float
    swing_ms: float = 0.0


def strike(
    patterns: Sequence[tuple[int, str]],
    key: int,
    timeline: Timeline,
    feel: Feel,
    seed: int,
    part: str,
    *,
    steps_per_beat: int = _STEPS_PER_BEAT,
) -> list[Note]:
    """Return the strokes of one drum.

    Parameters
    ----------
    patterns : sequence of (int, str)
        Bar, counted from 0, and its pattern: one sign for each sixteenth, ``.`` for a rest,
        spaces ignored; signs as in ``STROKES``.
    key : int
        0–127, the drum.
    timeline : Timeline
        Where the bars are.
    feel : Feel
        How evenly it is played.
    seed : int
        Seed of the song.
    part : str
        Name of the part, so that each has its own chance.
    steps_per_beat : int
        4 for sixteenths, 3 for the triplets of swing.
    """
    rng = dice(seed, part)
    strokes = []
    for bar, pattern in patterns:
        for step, sign in enumerate(pattern.replace(" ", "")):
            if sign == ".":
                continue
            shift_ms = feel.late_ms + np.clip(rng.normal(0.0, feel.spread_ms), -9.0, 9.0)
            shift_ms += feel.swing_ms if step % 2 else 0.0
            velocity = STROKES[sign] + rng.normal(0.0, feel.velocity_spread)
            start_s = timeline.at(bar, step / steps_per_beat) + shift_ms / 1000.0
            strokes.append(Note(max(0.0, start_s), 0.25, key, int(np.clip(velocity, 12, 127))))
    return strokes


def over_bars(first: int, bars: int, *patterns: str) -> list[tuple[int, str]]:
    """Return the patterns repeated in turn over a number of bars."""
    return [(first + n, patterns[n % len(patterns)]) for n in range(bars)]
