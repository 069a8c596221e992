"""An answered trial as it is kept, and what a history of them says of the ear."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

from trainer.exercise.drill import Drill
from trainer.listening.history import Answer, replay
from trainer.listening.links import LINKS
from trainer.listening.threshold import Track

SILENT_SETUP = "silent"
MARK_DELAY = "mark_delay_s"
FEWEST_MARKED = 3


@dataclass(frozen=True)
class StoredTrial:
    """Keep one answered trial with everything that reproduces it.

    Parameters
    ----------
    trial : str
        Its own UUID.
    answered_at : str
        UTC, ISO 8601.
    day : int
        Ordinal of the local calendar day.
    drill, form, move, skill, unit : str
        What was asked.
    seed, index : int
        With the drill, the amount and the hash they give the same trial again.
    amount, measured_amount : float
        Asked, and read from the sound, in ``unit``.
    audio_title, audio_path, audio_sha256, audio_class : str
        The song; class ``demo`` or ``own``.
    start_s, end_s : float
        Place of the loop.
    setup : str
        Listening set-up; ``silent`` for runs without sound.
    answer, right_answer : str
        What was said and what was so.
    correct : bool or None
        Right or wrong; None where no answer is right.
    task : str
        The link that ties it to a threshold; empty where there is none.
    score : float
        0 to 1, see `trainer.exercise.forms.form.Grade`.
    error : float or None
        Signed distance from the right amount or time, where there is one.
    scored : bool
        False where the sound was interrupted: kept, but no part of the threshold.
    response_s : float
        Time from the question to the answer.
    loudness_lufs, spread_lu : float
        Of the versions as played.
    asked, measured : dict
        Complete settings, and every quantity read from the sound.
    program : str
        Version of the program.
    """

    trial: str
    answered_at: str
    day: int
    drill: str
    form: str
    move: str
    skill: str
    unit: str
    seed: int
    index: int
    amount: float
    measured_amount: float
    audio_title: str
    audio_path: str
    audio_sha256: str
    audio_class: str
    start_s: float
    end_s: float
    setup: str
    answer: str
    right_answer: str
    correct: bool | None
    task: str
    score: float
    error: float | None
    scored: bool
    response_s: float
    loudness_lufs: float
    spread_lu: float
    asked: dict[str, Any]
    measured: dict[str, Any]
    program: str


@dataclass(frozen=True)
class Standing:
    """Say where the ear stands in one skill, on one set-up, with one class of music.

    Parameters
    ----------
    drill : Drill
        A drill of the skill: its unit, its scale, its words.
    setup, audio_class : str
        The conditions.
    track : Track
        As of today, days without practice taken into account.
    last_day : int or None
        Ordinal of the last day of practice; None without any.
    """

    drill: Drill
    setup: str
    audio_class: str
    track: Track
    last_day: int | None


def find_standing(drill: Drill, trials: Iterable[StoredTrial], setup: str, audio_class: str, today: int) -> Standing:
    """Work out a standing from the history alone.

    Parameters
    ----------
    drill : Drill
        Whose skill is looked at.
    trials : iterable of StoredTrial
        In the order of their answers; others than the skill's are passed over.
    setup, audio_class : str
        The conditions; every pair has a threshold of its own.
    today : int
        Ordinal of today.

    Returns
    -------
    Standing
    """
    own = [
        trial
        for trial in trials
        if trial.skill == drill.skill and trial.setup == setup and trial.audio_class == audio_class and trial.scored
    ]
    answers = _to_answers(own)
    track = replay(drill.scale, answers)
    last_day = answers[-1].day if answers else None
    if last_day is not None and today > last_day:
        track = track.after_days(today - last_day)
    return Standing(drill, setup, audio_class, track, last_day)


def find_mark_delay(trials: Iterable[StoredTrial], setup: str) -> float:
    """Find the person's own delay in marking moments, s: the median over earlier passes; 0 while too few are known."""
    delays = [
        trial.error + float(trial.measured.get(MARK_DELAY, 0.0))
        for trial in trials
        if trial.form == "mark_the_moment" and trial.setup == setup and trial.error is not None and trial.scored
    ]
    return max(0.0, median(delays)) if len(delays) >= FEWEST_MARKED else 0.0


def _to_answers(trials: Sequence[StoredTrial]) -> list[Answer]:
    """Turn trials into answers; a clock that was set back does not move a day backwards."""
    answers: list[Answer] = []
    for trial in trials:
        day = max(trial.day, answers[-1].day) if answers else trial.day
        if trial.task in LINKS and trial.correct is not None:
            answers.append(Answer(day, trial.amount, trial.correct, trial.task))
    return answers
