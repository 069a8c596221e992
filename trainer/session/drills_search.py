"""Drills found by what is typed: a title, a family, a sound, a unit."""

from __future__ import annotations

import re
from collections.abc import Iterable

from trainer.exercise.drill import Drill

_WORD = re.compile(r"[^\s,.;:?!“”\"()]+")
_NUMBER_AND_UNIT = re.compile(r"(\d) (k?hz|db|lu|ms|s|%)\b")


def find_drills(drills: Iterable[Drill], typed: str) -> tuple[Drill, ...]:
    """Find the drills in which every typed word begins a word: of the title, then of other names, then of its teaching.

    Parameters
    ----------
    drills : iterable of Drill
        In the order in which they are listed.
    typed : str
        What is looked for; without a word nothing is found.
    """
    wanted = _split(typed)
    if not wanted:
        return ()
    ranked = [(_rank(drill, wanted), drill) for drill in drills]
    found = [(rank, drill) for rank, drill in ranked if rank is not None]
    return tuple(drill for _, drill in sorted(found, key=lambda pair: pair[0]))


def _rank(drill: Drill, wanted: frozenset[str]) -> int | None:
    """Tell how near a drill is to what is wanted, 0 the nearest; None where it is none of it."""
    teaching = drill.teaching
    described = f"{teaching.does} {teaching.listen} {teaching.small} {teaching.large}"
    texts = (drill.title, _gather(drill), f"{_gather(drill)} {described}")
    return next((rank for rank, text in enumerate(texts) if _holds(_split(text), wanted)), None)


def _gather(drill: Drill) -> str:
    """Gather what a drill may be called by."""
    names = f"{drill.drill} {drill.move}".replace("_", " ")
    choices = " ".join(choice.words for choice in drill.choices)
    return " ".join(
        (drill.title, drill.subtitle, drill.subject, drill.short_question, drill.amount.unit, names, choices)
    )


def _split(text: str) -> frozenset[str]:
    """Split into words, a number and its unit as one word as well."""
    plain = text.casefold().replace("-", " ")
    return frozenset(_WORD.findall(plain)) | frozenset(_WORD.findall(_NUMBER_AND_UNIT.sub(r"\1\2", plain)))


def _holds(words: frozenset[str], wanted: frozenset[str]) -> bool:
    return all(any(word.startswith(each) for word in words) for each in wanted)
