"""What a history says of each drill as practice: on which days, how much, how it ended, and what was in depth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from trainer.exercise.drill import Drill
from trainer.exercise.history import StoredTrial
from trainer.exercise.pace import count_as_depth, estimate_seconds, suits_depth

MISSES_IN_A_ROW = 3


@dataclass(frozen=True)
class Practice:
    """Say when and how much one drill was practised, under the conditions in force.

    Parameters
    ----------
    days : tuple of (int, int)
        Ordinals of the days before today with their numbers of counted trials, in order.
    lost : bool
        Whether three answers in a row were wrong in the last run before today.
    elsewhere : bool
        Whether it was practised before today on another set-up, or with another class of music.
    today : int
        Trials answered today, counted or not.
    """

    days: tuple[tuple[int, int], ...] = ()
    lost: bool = False
    elsewhere: bool = False
    today: int = 0

    @property
    def last_day(self) -> int | None:
        """Day of the last practice before today."""
        return self.days[-1][0] if self.days else None


NEVER = Practice()


def gather_practice(trials: Iterable[StoredTrial], setup: str, audio_class: str, today: int) -> dict[str, Practice]:
    """Gather the practice of every drill that the history knows.

    Parameters
    ----------
    trials : iterable of StoredTrial
        In the order of their answers.
    setup, audio_class : str
        The conditions in force.
    today : int
        Ordinal of today; an answer of a later day, after a clock that ran ahead, counts as yesterday's.
    """
    own: dict[str, list[StoredTrial]] = {}
    elsewhere: set[str] = set()
    now: dict[str, int] = {}
    for trial in trials:
        here = trial.setup == setup and trial.audio_class == audio_class
        if trial.day == today and here:
            now[trial.drill] = now.get(trial.drill, 0) + 1
        elif trial.day != today and not here:
            elsewhere.add(trial.drill)
        elif trial.day != today and trial.scored:
            own.setdefault(trial.drill, []).append(trial)
    names = {*own, *elsewhere, *now}
    return {
        name: Practice(
            _count_days(own.get(name, ()), today), _ends_lost(own.get(name, ())), name in elsewhere, now.get(name, 0)
        )
        for name in names
    }


def _count_days(trials: Sequence[StoredTrial], today: int) -> tuple[tuple[int, int], ...]:
    """Count trials by day."""
    counts: dict[int, int] = {}
    for trial in trials:
        day = min(trial.day, today - 1)
        counts[day] = counts.get(day, 0) + 1
    return tuple(sorted(counts.items()))


def _ends_lost(trials: Sequence[StoredTrial]) -> bool:
    """Tell whether the last run had three wrong answers in a row."""
    row = 0
    for trial in reversed(trials):
        if trial.seed != trials[-1].seed or trial.day != trials[-1].day:
            return False
        row = row + 1 if trial.correct is False else 0
        if row >= MISSES_IN_A_ROW:
            return True
    return False


def list_depths(practices: Mapping[str, Practice], drills: Mapping[str, Drill]) -> tuple[tuple[int, str], ...]:
    """List the days before today on which something was practised in depth, each with its drill.

    On a day with several it is the one that took longest, the first of them if they took equally long.
    """
    days: dict[int, tuple[float, str]] = {}
    for name, drill in drills.items():
        if not suits_depth(drill):
            continue
        for day, count in practices.get(name, NEVER).days:
            seconds = estimate_seconds(drill, count)
            if count >= count_as_depth(drill) and seconds > days.get(day, (0.0, ""))[0]:
                days[day] = (seconds, name)
    return tuple((day, name) for day, (_, name) in sorted(days.items()))


def count_visits(practice: Practice) -> int:
    """Count visits: days of practice one after the other are one of them."""
    days = [day for day, _ in practice.days]
    return bool(days) + sum(day - before > 1 for before, day in pairwise(days))


def find_last_gap(practice: Practice, all_days: Sequence[int]) -> int:
    """Find the last gap between two visits, counted in days on which anything was practised; 0 without one."""
    days = [day for day, _ in practice.days]
    gaps = [sum(before < each <= day for each in all_days) for before, day in pairwise(days) if day - before > 1]
    return gaps[-1] if gaps else 0
