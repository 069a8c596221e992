"""In which order drills are met, what has to be known before, and what the set-up and the music can carry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from trainer.dsp.stereo.moves import PARTS
from trainer.exercise.drill import REACHES, Drill
from trainer.exercise.families import FAMILIES, SET_UP
from trainer.exercise.forms import FORMS
from trainer.exercise.history import StoredTrial
from trainer.exercise.reach import find_check, plays

# Families in the order in which they are met: the large and plain first.
FIRST_MET = (
    SET_UP,
    "Level",
    "Balance",
    "Over-limiting",
    "Low end",
    "Compression",
    "Saturation",
    "Slow-release pumping",
    "Faults",
    "Stereo",
    "Coding, word length",
    "Judgement",
)
# Within a family: what is picked comes before what is named, judged or set.
FIRST_FORMS = ("pick_of_three", "pick_of_two", "lesson", "louder_or_better", "oddity")
PICKS = ("pick_of_three", "pick_of_two", "oddity")
# What needs a song's separate parts.
PART_MOVES = frozenset(move.name for move in PARTS)

Cause = Literal["low", "top", "parts", "reference"]


@dataclass(frozen=True)
class LeftOut:
    """Say that drills are left out, how many, and why: what the set-up does not play, or what the mix lacks."""

    cause: Cause
    count: int


def sort_by_plainness(drills: Iterable[Drill]) -> tuple[Drill, ...]:
    """Sort drills as they are met: the first of every family, then the others, a large family's spread over all.

    Parameters
    ----------
    drills : iterable of Drill
        In the order of their files.
    """
    families: dict[str, list[Drill]] = {}
    for drill in drills:
        families.setdefault(drill.subject, []).append(drill)
    placed = [
        (place / len(own), _rank_family(subject), drill)
        for subject, own in families.items()
        for place, drill in enumerate(sorted(own, key=lambda each: each.form not in FIRST_FORMS))
    ]
    return tuple(drill for _, _, drill in sorted(placed, key=lambda each: each[:2]))


def _rank_family(subject: str) -> int:
    """Rank a family; a person's own come last."""
    order = (*FIRST_MET, *(each for each in FAMILIES if each not in FIRST_MET))
    return order.index(subject) if subject in order else len(order)


def find_groundwork(drill: Drill, drills: Iterable[Drill]) -> tuple[str, ...]:
    """Find the drills that come before one: the picks of exactly what it asks for.

    Parameters
    ----------
    drill : Drill
        Which is looked at; a pick or a lesson needs nothing before.
    drills : iterable of Drill
        Those that can be practised at all.

    Returns
    -------
    tuple of str
        Names. Where no pick has the same settings, the first pick of the same move.
    """
    if drill.form in FIRST_FORMS:
        return ()
    picks = [each for each in drills if each.form in PICKS and each.drill != drill.drill]
    found: dict[str, None] = {}
    for move, settings in drill.moves:
        same = [pick for pick in picks if pick.move == move]
        exact = [pick for pick in same if pick.settings == settings]
        found.update(dict.fromkeys(pick.drill for pick in exact or same[:1]))
    return tuple(found)


def needs_parts(drill: Drill) -> bool:
    """Tell whether a drill needs a song's separate parts."""
    return any(move in PART_MOVES for move, _ in drill.moves) or drill.move in PART_MOVES


def needs_reference(drill: Drill) -> bool:
    """Tell whether a drill needs a reference that comes with the song."""
    return FORMS[drill.form].needs_reference


def is_check(drill: Drill, drills: Sequence[Drill]) -> bool:
    """Tell whether a drill is the question whether a set-up plays something that others need."""
    check = find_check(drills, drill.reach)
    needed = any(each.reach == drill.reach and each is not check for each in drills)
    return check is not None and check.drill == drill.drill and needed


@dataclass(frozen=True)
class Reach:
    """Say what the set-up and the music carry: True, False, or None where it has not been asked yet."""

    drills: tuple[Drill, ...]
    known: Mapping[str, bool | None]
    own_mix: bool

    def carries(self, drill: Drill) -> bool | None:
        """Tell whether a drill can be answered here."""
        if self.own_mix and (needs_parts(drill) or needs_reference(drill)):
            return False
        return self.known.get(drill.reach, True)

    def list_left_out(self) -> tuple[LeftOut, ...]:
        """List what is left out, by its cause."""
        counts: dict[Cause, int] = {
            "parts": sum(self.own_mix and needs_parts(drill) for drill in self.drills),
            "reference": sum(self.own_mix and needs_reference(drill) for drill in self.drills),
        }
        for cause in ("low", "top"):
            lost = [d for d in self.drills if d.reach == cause and not is_check(d, self.drills)]
            counts[cause] = len(lost) if self.known.get(cause) is False else 0
        return tuple(LeftOut(cause, count) for cause, count in counts.items() if count)


def find_reach(drills: Sequence[Drill], trials: Sequence[StoredTrial], setup: str, audio_class: str) -> Reach:
    """Find what the set-up and the music carry, from what was last answered on it."""
    known: dict[str, bool | None] = {}
    for reach in REACHES:
        asking = next((d for d in drills if d.reach == reach and not is_check(d, drills)), None)
        known[reach] = True if asking is None else plays(drills, trials, setup, asking)
    return Reach(tuple(drills), known, audio_class == "own")
