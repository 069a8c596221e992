"""Where the ear stands in everything that was ever practised, as data and as lines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from trainer.exercise.drill import Drill
from trainer.exercise.history import StoredTrial, find_standing
from trainer.exercise.standings import Standings
from trainer.session.words import describe_estimate

DAY_COLUMNS = ("date", "skill", "unit", "setup", "audio", "trials", "estimate", "low", "high")


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
    return {
        "skills": [_summarise_track(key, trials, drills, today) for key in tracks],
        "confusions": _count_confusions(trials),
    }


def _count_confusions(trials: Sequence[StoredTrial]) -> list[dict[str, Any]]:
    """Count what was taken for what where something had to be named, the most frequent first."""
    wrong = Counter(
        (t.drill, t.setup, t.right_answer, t.answer)
        for t in trials
        if t.form == "name_it" and t.scored and t.correct is False
    )
    return [
        {"drill": drill, "setup": setup, "asked": asked, "answered": answered, "count": count}
        for (drill, setup, asked, answered), count in sorted(wrong.items(), key=lambda each: (-each[1], each[0]))
    ]


def list_days(trials: Sequence[StoredTrial], drills: Mapping[str, Drill]) -> list[dict[str, Any]]:
    """List where each threshold stood at the end of each day of practice.

    Parameters
    ----------
    trials : sequence of StoredTrial
        In the order of their answers.
    drills : mapping of str to Drill
        Those that are known; a skill without one is left out.

    Returns
    -------
    list of dict
        With `DAY_COLUMNS`: date, skill, unit, setup, audio, trials of that day, estimate, low and high in the unit.
    """
    rows, kept = [], Standings()
    for skill, setup, audio in dict.fromkeys((trial.skill, trial.setup, trial.audio_class) for trial in trials):
        drill = next((drill for drill in drills.values() if drill.skill == skill), None)
        own = [t for t in trials if (t.skill, t.setup, t.audio_class) == (skill, setup, audio) and t.scored]
        for day in sorted({trial.day for trial in own}) if drill is not None else ():
            assert drill is not None
            so_far = [trial for trial in own if trial.day <= day]
            (standing,) = kept.find({drill.drill: drill}, so_far, setup, audio, day)
            estimate = standing.track.estimate()
            if estimate.trials:
                values = (
                    date.fromordinal(day).isoformat(), skill, drill.amount.unit, setup, audio,
                    sum(trial.day == day for trial in own),
                    *(round(value, 4) for value in (estimate.median, estimate.low, estimate.high)),
                )  # fmt: skip
                rows.append(dict(zip(DAY_COLUMNS, values, strict=True)))
    return rows


def word_progress(summary: Mapping[str, Sequence[Mapping[str, Any]]]) -> list[str]:
    """Word a summary, a line to a skill."""
    if not summary["skills"]:
        return ["Nothing has been practised yet. `evenhand drill --text` begins."]
    mixed = [
        f"{each['drill']} ({each['setup']}): {each['asked']} taken for {each['answered']}, {each['count']} times"
        for each in summary["confusions"]
        if each["count"] > 1
    ]
    stands = [
        f"{skill['skill']} ({skill['setup']}, {skill['audio']} music): {skill['words']}; "
        f"last practised {skill['last_practised']}"
        for skill in summary["skills"]
    ]
    return [*stands, *mixed]


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
    if not any(trial.task for trial in own):
        count = facts["trials"]
        return facts | {"words": f"{count} trial{'' if count == 1 else 's'}, which ask for no threshold"}
    estimate = find_standing(drill, trials, setup, audio, today).track.estimate()
    return facts | {
        "estimate": estimate.median,
        "low": estimate.low,
        "high": estimate.high,
        "settled": estimate.settled,
        "words": describe_estimate(estimate, drill.amount.unit),
    }
