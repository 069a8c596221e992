"""What a listening set-up plays, as it was said by ear, once: the lowest bass and the highest top."""

from __future__ import annotations

from collections.abc import Iterable

from trainer.exercise.drill import Drill
from trainer.exercise.families import SET_UP
from trainer.exercise.forms.lesson import HEARD
from trainer.exercise.history import SILENT_SETUP, StoredTrial


def find_check(drills: Iterable[Drill], reach: str) -> Drill | None:
    """Find the lesson that asks whether a set-up plays something; None where there is none."""
    return next((drill for drill in drills if drill.subject == SET_UP and reach and drill.reach == reach), None)


def plays(drills: Iterable[Drill], trials: Iterable[StoredTrial], setup: str, drill: Drill) -> bool | None:
    """Tell whether a set-up plays what a drill needs.

    Parameters
    ----------
    drills : iterable of Drill
        All there are.
    trials : iterable of StoredTrial
        The history; the last answer on the set-up counts, which is no hearing test.
    setup : str
        The set-up; nothing has to be heard where it is silent.
    drill : Drill
        What is wanted.

    Returns
    -------
    bool or None
        None where it has not been asked yet.
    """
    check = find_check(drills, drill.reach)
    if check is None or check.drill == drill.drill or setup == SILENT_SETUP:
        return True
    answer = find_answer(check, trials, setup)
    return None if answer is None else answer == HEARD


def find_answer(check: Drill, trials: Iterable[StoredTrial], setup: str) -> str | None:
    """Find what was last said on a set-up; None where it has not been asked yet."""
    answers = [trial.answer for trial in trials if trial.drill == check.drill and trial.setup == setup]
    return answers[-1] if answers else None
