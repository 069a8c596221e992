"""Spoken lines in rhythm: sixteenths and the rise and fall of the voice, as strings."""

from __future__ import annotations

from collections.abc import Sequence

from .score import Phrase, SungNote

_STEPS_PER_BEAT = 4


def spoken(bar: int, words: str, pattern: str, *, lowest_key: int, swing_steps: float = 0.0) -> Phrase:
    """Return a line spoken in rhythm.

    Parameters
    ----------
    bar : int
        Where the line begins.
    words : str
        One syllable for every digit of the pattern.
    pattern : str
        One sign for each sixteenth, spaces ignored: a digit speaks a syllable so many semitones above
        ``lowest_key``, ``-`` holds it, ``.`` rests.
    lowest_key : int
        0–127, the floor of the speaking voice.
    swing_steps : float
        0–0.5, how much later the off-sixteenths come, in sixteenths.
    """
    signs = pattern.replace(" ", "")
    notes = []
    for step, sign in enumerate(signs):
        if not sign.isdigit():
            continue
        end = step + 1
        while end < len(signs) and signs[end] == "-":
            end += 1
        start, stop = _place(step, swing_steps), _place(end, swing_steps)
        notes.append(SungNote(start, lowest_key + int(sign), stop - start))
    return Phrase(bar, words, tuple(notes))


def _place(step: int, swing_steps: float) -> float:
    """Beat of a sixteenth, the odd ones late."""
    return (step + (swing_steps if step % 2 else 0.0)) / _STEPS_PER_BEAT


def moved(lines: Sequence[Phrase], bars: int) -> tuple[Phrase, ...]:
    """Return the lines later by a number of bars."""
    return tuple(Phrase(line.bar + bars, line.words, line.notes) for line in lines)


def ending_of(line: Phrase, words: str, syllables: int) -> Phrase:
    """Return the last syllables of a line as a line of their own, for a second voice that joins in there."""
    return Phrase(line.bar, words, line.notes[-syllables:])
