"""Lay the phonemes of a spoken line on the notes of a tune: which moment is spoken when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .score import Phrase, Timeline
from .signal import Curve
from .speech import Phoneme

# A rest shorter than this is sung through; a longer one separates the words on its two sides.
_REST_S = 0.12
_LARGEST_CONSONANT_SHARE = 0.55


@dataclass(frozen=True)
class Placed:
    """A phoneme with its place in the song, both in seconds."""

    phoneme: Phoneme
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Alignment:
    """Placed phonemes, and the map from song time to speech time as corner points."""

    placed: tuple[Placed, ...]
    song_s: Curve
    speech_s: Curve

    def speech_at(self, song_s: Curve) -> Curve:
        """Return the moments of speech that belong to moments of the song."""
        return np.interp(song_s, self.song_s, self.speech_s)


def _spread(group: Sequence[Phoneme], start_s: float, end_s: float) -> list[Placed]:
    """Place phonemes one after another in a stretch, in proportion to their own lengths."""
    if not group:
        return []
    first, length = group[0].start_s, group[-1].end_s - group[0].start_s
    scale = (end_s - start_s) / length
    return [Placed(p, start_s + scale * (p.start_s - first), start_s + scale * (p.end_s - first)) for p in group]


def _length(group: Sequence[Phoneme]) -> float:
    return group[-1].end_s - group[0].start_s if group else 0.0


def _between(
    group: Sequence[Phoneme], word: int, note_end_s: float, next_start_s: float, room_s: float
) -> tuple[float, list[Placed]]:
    """Place the consonants between two vowels; also return where the first vowel ends."""
    if next_start_s - note_end_s < _REST_S:
        length = min(_length(group), _LARGEST_CONSONANT_SHARE * room_s)
        return next_start_s - length, _spread(group, next_start_s - length, next_start_s)
    coda = [p for p in group if p.word == word]
    onset = group[len(coda) :]
    tail = _spread(coda, note_end_s, note_end_s + _length(coda))
    lead_s = min(_length(onset), 0.9 * (next_start_s - note_end_s))
    return note_end_s, tail + _spread(onset, next_start_s - lead_s, next_start_s)


def _vowel_corners(vowel: Placed) -> list[tuple[float, float]]:
    """Corners inside a vowel: a natural onset, a long middle, the glide of a diphthong kept for the end."""
    p = vowel.phoneme
    spoken, sung = p.end_s - p.start_s, vowel.end_s - vowel.start_s
    corners = [(vowel.start_s, p.start_s)]
    if sung > spoken > 0.06:
        onset = 0.35 * spoken
        glide = min(0.16, 0.35 * sung)
        corners.append((vowel.start_s + onset, p.start_s + onset))
        corners.append((max(vowel.end_s - glide, vowel.start_s + onset + 0.01), p.start_s + 0.55 * spoken))
    return corners


def align(phonemes: Sequence[Phoneme], line: Phrase, timeline: Timeline) -> Alignment:
    """Place every phoneme of a line: vowels start on their notes, consonants come before them.

    Raises
    ------
    ValueError
        If the line has not one note for each vowel.
    """
    vowels = [index for index, p in enumerate(phonemes) if p.is_vowel]
    if len(vowels) != len(line.notes):
        names = " ".join(p.name for p in phonemes)
        raise ValueError(f"{line.words}: notes={len(line.notes)}, expected {len(vowels)} ({names})")
    starts = [timeline.at(line.bar, note.beat) for note in line.notes]
    ends = [timeline.at(line.bar, note.beat + note.beats) for note in line.notes]
    opening = phonemes[: vowels[0]]
    placed = _spread(opening, starts[0] - _length(opening), starts[0])
    for n, index in enumerate(vowels):
        last = n + 1 == len(vowels)
        group = phonemes[index + 1 :] if last else phonemes[index + 1 : vowels[n + 1]]
        following = ends[n] + 10.0 if last else starts[n + 1]
        word = phonemes[index].word
        vowel_end, consonants = _between(group, word, ends[n], following, following - starts[n])
        placed.append(Placed(phonemes[index], starts[n], vowel_end))
        placed.extend(consonants)
    corners: list[tuple[float, float]] = []
    for item in placed:
        corners += _vowel_corners(item) if item.phoneme.is_vowel else [(item.start_s, item.phoneme.start_s)]
    corners.append((placed[-1].end_s, placed[-1].phoneme.end_s))
    return Alignment(tuple(placed), np.array([c[0] for c in corners]), np.array([c[1] for c in corners]))
