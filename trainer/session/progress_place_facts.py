"""What a history tells: thresholds over the days, whether one changed, conditions compared, what was mixed up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.history import StoredTrial, find_standing
from trainer.exercise.standings import Standings
from trainer.listening.history import Answer, Improvement, claim_improvement
from trainer.listening.links import LINKS
from trainer.listening.threshold import Estimate
from trainer.session.progress_place_state import Compared, Course, DayPoint
from trainer.session.words import word_answer

BLOCK_DAYS = 5
"""A change is looked for between two blocks of so many days of practice, each fitted by itself."""
MUSIC = {"demo": "bundled songs", "own": "own mixes"}


@dataclass(frozen=True)
class Confusion:
    """Say how often something was taken for something else, of how often it was asked."""

    drill: Drill
    was: str
    said: str
    count: int
    asked: int


def list_skills(drills: Iterable[Drill]) -> tuple[Drill, ...]:
    """List one drill for each skill that has a threshold, in their order."""
    found: dict[str, Drill] = {}
    for drill in drills:
        if FORMS[drill.form].placement == "threshold":
            found.setdefault(drill.skill, drill)
    return tuple(found.values())


def list_practised(
    drills: Iterable[Drill], trials: Sequence[StoredTrial], setup: str, audio_class: str
) -> tuple[Drill, ...]:
    """List the skills that have answers on a set-up, with a class of music."""
    heard = {trial.skill for trial in trials if _counts(trial) and _under(trial, setup, audio_class)}
    return tuple(drill for drill in list_skills(drills) if drill.skill in heard)


def trace_course(drill: Drill, trials: Sequence[StoredTrial], setup: str, audio_class: str) -> Course:
    """Work out where a threshold stood at the end of each day of practice, and whether it changed.

    Parameters
    ----------
    drill : Drill
        Whose skill is looked at.
    trials : sequence of StoredTrial
        The history, in the order of its answers.
    setup, audio_class : str
        The conditions.
    """
    own = _choose(drill, trials, setup, audio_class)
    kept, points = Standings(), []
    for day in sorted({trial.day for trial in own}):
        so_far = [trial for trial in own if trial.day <= day]
        (standing,) = kept.find({drill.drill: drill}, so_far, setup, audio_class, day)
        points.append(DayPoint(day, standing.track.estimate()))
    return Course(drill, tuple(points), _judge_change(drill, own))


def _judge_change(drill: Drill, own: Sequence[StoredTrial]) -> Improvement | None:
    """Compare the last block of days with the first; None while they would share a day."""
    days = sorted({trial.day for trial in own})
    if len(days) < 2 * BLOCK_DAYS:
        return None
    first, last = set(days[:BLOCK_DAYS]), set(days[-BLOCK_DAYS:])
    ordered = sorted(own, key=lambda trial: trial.day)
    blocks = [
        [Answer(t.day, t.amount, bool(t.correct), t.task) for t in ordered if t.day in block] for block in (first, last)
    ]
    return claim_improvement(drill.scale, *blocks)


def list_comparable(drills: Iterable[Drill], trials: Sequence[StoredTrial]) -> tuple[Drill, ...]:
    """List the skills that have answers under more than one pair of conditions."""
    conditions: dict[str, set[tuple[str, str]]] = {}
    for trial in trials:
        if _counts(trial):
            conditions.setdefault(trial.skill, set()).add((trial.setup, trial.audio_class))
    return tuple(drill for drill in list_skills(drills) if len(conditions.get(drill.skill, ())) > 1)


def compare_setups(drill: Drill, trials: Sequence[StoredTrial], today: int) -> tuple[Compared, ...]:
    """Compare set-ups in one skill, with the same music."""
    found = []
    for audio in MUSIC:
        setups = _list_conditions(drill, (trial for trial in trials if trial.audio_class == audio), "setup")
        if len(setups) > 1:
            stood = tuple((setup, _estimate(drill, trials, setup, audio, today)) for setup in setups)
            found.append(Compared(drill, MUSIC[audio], stood))
    return tuple(found)


def compare_music(drill: Drill, trials: Sequence[StoredTrial], today: int) -> tuple[Compared, ...]:
    """Compare own mixes with the bundled songs in one skill, on the same set-up."""
    found = []
    for setup in dict.fromkeys(trial.setup for trial in trials):
        audios = _list_conditions(drill, (trial for trial in trials if trial.setup == setup), "audio_class")
        if len(audios) > 1:
            stood = tuple((MUSIC[audio], _estimate(drill, trials, setup, audio, today)) for audio in audios)
            found.append(Compared(drill, setup, stood))
    return tuple(found)


def count_confusions(drills: Mapping[str, Drill], trials: Iterable[StoredTrial], setup: str) -> tuple[Confusion, ...]:
    """Count what was taken for what on a set-up, where something had to be named; the most frequent first."""
    named = [
        trial
        for trial in trials
        if trial.form == "name_it" and trial.scored and trial.setup == setup and trial.drill in drills
    ]
    asked = Counter((trial.drill, trial.right_answer) for trial in named)
    wrong = Counter((trial.drill, trial.right_answer, trial.answer) for trial in named if trial.correct is False)
    found = [
        Confusion(
            drills[drill],
            word_answer(drills[drill], was, bare=True),
            word_answer(drills[drill], said, bare=True),
            count,
            asked[drill, was],
        )
        for (drill, was, said), count in wrong.items()
    ]
    return tuple(sorted(found, key=lambda each: (-each.count / each.asked, each.drill.drill, each.was, each.said)))


def list_dates(drills: Mapping[str, Drill], trials: Iterable[StoredTrial]) -> tuple[tuple[str, ...], ...]:
    """List what was practised on which day, the last day first: date, drill, answers, set-up, music."""
    counts = Counter((trial.day, trial.drill, trial.setup, trial.audio_class) for trial in trials)
    return tuple(
        (
            date.fromordinal(day).isoformat(),
            drills[drill].title if drill in drills else drill,
            str(count),
            setup,
            MUSIC.get(audio, audio),
        )
        for (day, drill, setup, audio), count in sorted(counts.items(), key=lambda each: -each[0][0])
    )


def _list_conditions(drill: Drill, trials: Iterable[StoredTrial], name: str) -> tuple[str, ...]:
    """List the conditions of one kind under which a skill has answers."""
    return tuple(
        dict.fromkeys(str(getattr(trial, name)) for trial in trials if trial.skill == drill.skill and _counts(trial))
    )


def _estimate(drill: Drill, trials: Sequence[StoredTrial], setup: str, audio_class: str, today: int) -> Estimate:
    """Give a threshold as of today."""
    return find_standing(drill, trials, setup, audio_class, today).track.estimate()


def _choose(drill: Drill, trials: Sequence[StoredTrial], setup: str, audio_class: str) -> list[StoredTrial]:
    """Choose the answers that a threshold rests on."""
    return [
        trial for trial in trials if trial.skill == drill.skill and _counts(trial) and _under(trial, setup, audio_class)
    ]


def _counts(trial: StoredTrial) -> bool:
    return trial.scored and trial.task in LINKS and trial.correct is not None


def _under(trial: StoredTrial, setup: str, audio_class: str) -> bool:
    return trial.setup == setup and trial.audio_class == audio_class
