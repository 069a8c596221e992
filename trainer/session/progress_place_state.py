"""Where a person is in what the history tells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.exercise.drill import Drill
from trainer.listening.history import Improvement
from trainer.listening.threshold import Estimate

Look = Literal["now", "days", "mixed", "compared", "dates"]


@dataclass(frozen=True)
class DayPoint:
    """Say where a threshold stood at the end of a day of practice, by the day's ordinal."""

    day: int
    estimate: Estimate


@dataclass(frozen=True)
class Course:
    """Hold a threshold over the days on one set-up, with one class of music.

    Parameters
    ----------
    drill : Drill
        A drill of the skill.
    points : tuple of DayPoint
        One to a day of practice, in their order.
    change : Improvement or None
        The last block of days against the first; None while there are too few.
    """

    drill: Drill
    points: tuple[DayPoint, ...]
    change: Improvement | None


@dataclass(frozen=True)
class Compared:
    """Hold one skill under several conditions that differ in one thing.

    Parameters
    ----------
    drill : Drill
        A drill of the skill.
    same : str
        What all have in common: the music, or the set-up.
    others : tuple of (str, Estimate)
        What differs, and the threshold there; two or more.
    """

    drill: Drill
    same: str
    others: tuple[tuple[str, Estimate], ...]


@dataclass(frozen=True)
class ProgressState:
    """Hold what is looked at; changed by replacement.

    Parameters
    ----------
    look : str
        Which page.
    chosen : str
        The skill that is chosen to be looked at over the days; empty for the first.
    course : Course or None
        The threshold that is shown over the days; None while one is chosen.
    pending : tuple of Drill
        Skills that are still to be compared.
    setups, music : tuple of Compared
        Skills on several set-ups with the same music; with several kinds of music on the same set-up.
    """

    look: Look = "now"
    chosen: str = ""
    course: Course | None = None
    pending: tuple[Drill, ...] = ()
    setups: tuple[Compared, ...] = ()
    music: tuple[Compared, ...] = ()
