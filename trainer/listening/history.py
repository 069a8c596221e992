"""Rebuild a threshold from stored answers, and say when two stretches of practice differ."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from trainer.errors import BadValue
from trainer.listening.threshold import Scale, Track

CLAIM = 0.95


@dataclass(frozen=True)
class Answer:
    """Keep what a threshold needs of one scored trial.

    Parameters
    ----------
    day : int
        Ordinal of the calendar day.
    amount : float, > 0
        Amount asked, in the skill's unit.
    correct : bool
        Whether the answer was right.
    task : str
        One of the names in `trainer.listening.links.LINKS`.
    """

    day: int
    amount: float
    correct: bool
    task: str


@dataclass(frozen=True)
class Improvement:
    """Say how sure it is that a threshold fell.

    Parameters
    ----------
    claimed : bool
        Whether the probability is 0.95 or more.
    probability : float, 0 to 1
        That the threshold is lower now than then.
    """

    claimed: bool
    probability: float


def replay(scale: Scale, answers: Iterable[Answer]) -> Track:
    """Return the track that a history of answers leads to.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.
    answers : iterable of Answer
        In the order in which they were given.

    Returns
    -------
    Track
        As it stands on the day of the last answer.

    Raises
    ------
    BadValue
        If an answer is older than the one before it.
    """
    track = Track.begin(scale)
    last_day: int | None = None
    for answer in answers:
        if last_day is not None:
            if answer.day < last_day:
                raise BadValue("history", "day", answer.day, f"{last_day} or later")
            track = track.after_days(answer.day - last_day)
        track = track.after(answer.amount, answer.correct, answer.task)
        last_day = answer.day
    return track


def claim_improvement(scale: Scale, first_block: Sequence[Answer], last_block: Sequence[Answer]) -> Improvement:
    """Judge whether the threshold fell between two separate blocks of answers.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.
    first_block, last_block : sequence of Answer, not empty
        In time order; every day of the last block is later than every day of the first.

    Returns
    -------
    Improvement
        Each block is fitted by itself from the population prior, so that neither leans on the other,
        and with one threshold, so that its good and bad days average out.

    Raises
    ------
    BadValue
        If a block is empty or the blocks share a day.
    """
    for name, block in (("first_block", first_block), ("last_block", last_block)):
        if not block:
            raise BadValue("history", name, "empty", "at least one answer")
    if last_block[0].day <= first_block[-1].day:
        raise BadValue("history", "last_block", last_block[0].day, f"a day after {first_block[-1].day}")
    then, now = (_fit(scale, block).threshold_probability() for block in (first_block, last_block))
    # The same grid point twice counts as half: nothing says which of the two is lower.
    lower = float(then @ (np.cumsum(now) - 0.5 * now))
    probability = min(1.0, max(0.0, lower))
    return Improvement(probability >= CLAIM, probability)


def _fit(scale: Scale, block: Sequence[Answer]) -> Track:
    """Return what a block says of one unchanging threshold."""
    track = Track.begin(scale)
    for answer in block:
        track = track.after(answer.amount, answer.correct, answer.task)
    return track
