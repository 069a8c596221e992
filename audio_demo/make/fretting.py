"""Chord shapes and right-hand patterns turned into guitar and bass notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from .score import Note, Timeline, dice

Shape = tuple[int, ...]
_STEPS_PER_BEAT = 4


@dataclass(frozen=True)
class Hand:
    """A right hand: time to cross the strings and unevenness, in ms, and how hard it plays."""

    stroke_ms: float
    spread_ms: float
    velocity: int
    velocity_spread: float


@dataclass(frozen=True)
class BarOfChord:
    """A bar, the shape held from there on, and its pattern of sixteenths, which may be longer than the bar.

    Signs: ``D``/``U`` down and up over all strings, ``d``/``u`` softer, ``m`` muted, ``.`` let it ring,
    a digit plucks that note of the shape alone (0 is the lowest).
    """

    bar: float
    shape: Shape
    pattern: str


def _next_sign(pattern: str, step: int) -> int:
    """Step at which the sound of a stroke ends: the next sign, or the end of the pattern."""
    for later in range(step + 1, len(pattern)):
        if pattern[later] != ".":
            return later
    return len(pattern)


def strum(bars: Sequence[BarOfChord], timeline: Timeline, hand: Hand, seed: int, part: str) -> list[Note]:
    """Return the notes of a strummed or picked part."""
    rng = dice(seed, part)
    notes = []
    for item in bars:
        pattern = item.pattern.replace(" ", "")
        for step, sign in enumerate(pattern):
            if sign == ".":
                continue
            start_s = timeline.at(item.bar, step / _STEPS_PER_BEAT)
            start_s += float(np.clip(rng.normal(0.0, hand.spread_ms), -14.0, 14.0)) / 1000.0
            until = timeline.at(item.bar, _next_sign(pattern, step) / _STEPS_PER_BEAT)
            notes += _stroke(item.shape, sign, start_s, until, hand, rng)
    return notes


def _stroke(
    shape: Shape, sign: str, start_s: float, until_s: float, hand: Hand, rng: np.random.Generator
) -> list[Note]:
    """The notes of one stroke, one string after another."""
    if sign.isdigit():
        keys, until_s = [shape[int(sign) % len(shape)]], until_s + 0.25
    else:
        keys = list(shape) if sign in "Ddm" else list(reversed(shape))
    softer = {"d": 16, "u": 24, "U": 8, "m": 20}.get(sign, 0)
    length_s = 0.07 if sign == "m" else until_s - start_s
    gap_s = hand.stroke_ms / 1000.0 / max(1, len(keys) - 1)
    out = []
    for number, key in enumerate(keys):
        velocity = hand.velocity - softer + rng.normal(0.0, hand.velocity_spread)
        begin_s = max(0.0, start_s + number * gap_s * float(rng.uniform(0.8, 1.2)))
        out.append(Note(begin_s, max(0.04, length_s), key, int(np.clip(velocity, 15, 127))))
    return out


def let_ring(notes: Sequence[Note], changes_s: Sequence[float]) -> list[Note]:
    """Return the notes held until their string is struck again or the hand moves to the next chord."""
    edges = sorted(changes_s)
    out = []
    for note in notes:
        until_s = next((edge for edge in edges if edge > note.start_s + 0.03), note.start_s + note.length_s)
        again = [other.start_s for other in notes if other.key == note.key and other.start_s > note.start_s + 0.01]
        until_s = min([until_s, *again])
        out.append(replace(note, length_s=max(note.length_s, until_s - 0.02 - note.start_s)))
    return out


def onsets(notes: Sequence[Note]) -> list[tuple[float, float]]:
    """Return (seconds, strength 0–1) of every string touched, for the noise of the pick."""
    return [(note.start_s, note.velocity / 127.0) for note in notes]


def bass_line(bars: Sequence[tuple[int, Sequence[int], str]], timeline: Timeline, seed: int, part: str) -> list[Note]:
    """Return a bass part; a digit in a pattern of sixteenths plays that key of the bar's list.

    ``.`` lets the note ring and ``,`` stops it.
    """
    rng = dice(seed, part)
    notes = []
    for bar, keys, signs in bars:
        pattern = signs.replace(" ", "")
        for step, sign in enumerate(pattern):
            if not sign.isdigit():
                continue
            start_s = timeline.at(bar, step / _STEPS_PER_BEAT) + float(rng.normal(1.0, 3.0)) / 1000.0
            length_s = timeline.at(bar, _next_sign(pattern, step) / _STEPS_PER_BEAT) - start_s - 0.012
            accent = 108 if step % 8 == 0 else 96
            velocity = int(np.clip(accent + rng.normal(0.0, 5.0), 60, 124))
            notes.append(Note(max(0.0, start_s), max(0.05, length_s), keys[int(sign)], velocity))
    return notes


def shapes_by_name(table: Mapping[str, Shape], names: str) -> list[Shape]:
    """Return the shapes of a line of chord names, one a bar."""
    return [table[name] for name in names.split()]
