"""What a song is on paper: time, notes, sung phrases and sections, all as plain data."""

from __future__ import annotations

import re
from dataclasses import dataclass
from zlib import crc32

import numpy as np

_LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_PITCH = re.compile(r"([A-G])([#b]?)(-?\d)")


@dataclass(frozen=True)
class Note:
    """One struck note: start and length in seconds, MIDI key 0–127, velocity 1–127."""

    start_s: float
    length_s: float
    key: int
    velocity: int


@dataclass(frozen=True)
class Section:
    """A named stretch of whole bars; ``first_bar`` counts from 0."""

    name: str
    first_bar: int
    bars: int


@dataclass(frozen=True)
class SungNote:
    """One syllable: start and length in beats from the bar of its phrase, MIDI key."""

    beat: float
    key: int
    beats: float


@dataclass(frozen=True)
class Phrase:
    """A line of words and the notes its syllables are sung on, in order."""

    bar: int
    words: str
    notes: tuple[SungNote, ...]


@dataclass(frozen=True)
class Timeline:
    """Constant tempo from a stated first downbeat, so that every bar line is exact."""

    tempo_bpm: float
    first_downbeat_s: float
    beats_per_bar: int = 4

    @property
    def beat_s(self) -> float:
        """Length of a beat in seconds."""
        return 60.0 / self.tempo_bpm

    def at(self, bar: float, beat: float = 0.0) -> float:
        """Return the time in seconds of a beat of a bar, both counted from 0."""
        return self.first_downbeat_s + (bar * self.beats_per_bar + beat) * self.beat_s


def key_number(name: str) -> int:
    """Return the MIDI key of a pitch name such as ``"F#3"`` (A4 = 69 = 440 Hz)."""
    match = _PITCH.fullmatch(name)
    if match is None:
        raise ValueError(f"score: pitch={name!r}, expected a letter, an optional # or b, and an octave")
    letter, accidental, octave = match.groups()
    return _LETTERS[letter] + {"": 0, "#": 1, "b": -1}[accidental] + 12 * (int(octave) + 1)


def key_hz(key: float) -> float:
    """Return the frequency in hertz of a MIDI key in equal temperament (A4 = 440 Hz)."""
    return float(440.0 * 2.0 ** ((key - 69.0) / 12.0))


def phrase(bar: int, words: str, notes: str) -> Phrase:
    """Read a phrase; ``notes`` is ``beat pitch beats`` separated by commas, one per syllable."""
    sung = []
    for item in notes.split(","):
        beat, pitch, beats = item.split()
        sung.append(SungNote(float(beat), key_number(pitch), float(beats)))
    return Phrase(bar, words, tuple(sung))


def dice(seed: int, name: str) -> np.random.Generator:
    """Return the random generator of one part, the same for the same seed and name on every run."""
    return np.random.default_rng([seed, crc32(name.encode())])
