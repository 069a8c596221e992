"""Where the ear stands in everything that was ever practised, as data and as lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from trainer.exercise.drill import Drill
from trainer.exercise.history import StoredTrial, find_standing
from trainer.session.words import describe_estimate


def summarise_progress(
    trials: Sequence[StoredTrial], drills: Mapping[str, Drill], today: int
) -> dict[str, list[dict[str, Any]]]:
    """Summarise a history.

    Parameters
    ----------
    trials : sequence of StoredTrial
        In the order of their answers; none is fine.
    drills : mapping of str to Drill
        The drills that are known; a skill without one is listed without an estimate.
    today : int
        Ordinal of today.

    Returns
    -------
    dict
        ``skills``: skill, unit, setup, audio, estimate, low, high (in the unit; None where unknown), trials,
        last_practised (ISO date); ``confusions``: asked, answered, count.
    """
    tracks = dict.fromkeys((trial.skill, trial.setup, trial.audio_class) for trial in trials)
    return {"skills": [_summarise_track(key, trials, drills, today) for key in tracks], "confusions": []}


def word_progress(summary: Mapping[str, Sequence[Mapping[str, Any]]]) -> list[str]:
    """Word a summary, a line to a skill."""
    if not summary["skills"]:
        return ["Nothing has been practised yet. `evenhand drill --text` begins."]
    return [
        f"{skill['skill']} ({skill['setup']}, {skill['audio']} music): {skill['words']}; "
        f"last practised {skill['last_practised']}"
        for skill in summary["skills"]
    ]


def _summarise_track(
    key: tuple[str, str, str], trials: Sequence[StoredTrial], drills: Mapping[str, Drill], today: int
) -> dict[str, Any]:
    """Summarise one skill under one pair of conditions."""
    skill, setup, audio = key
    own = [trial for trial in trials if (trial.skill, trial.setup, trial.audio_class) == key]
    facts: dict[str, Any] = {
        "skill": skill,
        "unit": own[-1].unit,
        "setup": setup,
        "audio": audio,
        "estimate": None,
        "low": None,
        "high": None,
        "settled": False,
        "trials": sum(trial.scored for trial in own),
        "last_practised": date.fromordinal(own[-1].day).isoformat(),
        "words": "no drill of this skill is known any more",
    }
    drill = next((drill for drill in drills.values() if drill.skill == skill), None)
    if drill is None or facts["trials"] == 0:
        return facts
    estimate = find_standing(drill, trials, setup, audio, today).track.estimate()
    return facts | {
        "estimate": estimate.median,
        "low": estimate.low,
        "high": estimate.high,
        "settled": estimate.settled,
        "words": describe_estimate(estimate, drill.amount.unit),
    }
