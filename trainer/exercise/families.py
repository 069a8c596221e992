"""The families of skills, in the order in which they are listed and learned."""

from __future__ import annotations

from collections.abc import Iterable

from trainer.exercise.drill import Drill

SET_UP = "Set-up"
FAMILIES = (
    SET_UP,
    "Level",
    "Balance",
    "Low end",
    "Saturation",
    "Over-limiting",
    "Slow-release pumping",
    "Compression",
    "Stereo",
    "Coding, word length",
    "Faults",
    "Judgement",
)


def sort_by_family(drills: Iterable[Drill]) -> dict[str, Drill]:
    """Sort drills by family, and by their order in the files within one; a person's own families come last."""
    return {drill.drill: drill for drill in sorted(drills, key=lambda drill: _place(drill.subject))}


def _place(subject: str) -> int:
    return FAMILIES.index(subject) if subject in FAMILIES else len(FAMILIES)
