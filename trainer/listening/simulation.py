"""Let simulated listeners practise, and compare what is found with what is so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.errors import BadValue
from trainer.listening.listener import Listener
from trainer.listening.threshold import Scale, Track


@dataclass(frozen=True)
class Simulated:
    """Hold what the engine found of one simulated listener.

    Parameters
    ----------
    estimate, low, high : float
        Median threshold and 95 % interval after the last answer, in the skill's unit.
    fraction_correct : float, 0 to 1
        Share of all answers that were right.
    trials : int
        Answers given over all days.
    """

    estimate: float
    low: float
    high: float
    fraction_correct: float
    trials: int


@dataclass(frozen=True)
class Summary:
    """Compare many findings with the truth.

    Parameters
    ----------
    bias_log10, sd_log10 : float
        Mean and standard deviation of log10(estimate / threshold).
    within_20_percent : float, 0 to 1
        Share of estimates from threshold / 1.2 to threshold · 1.2.
    coverage_95 : float, 0 to 1
        Share of intervals that hold the threshold.
    fraction_correct_median : float, 0 to 1
        Median over listeners of the share of right answers.
    """

    bias_log10: float
    sd_log10: float
    within_20_percent: float
    coverage_95: float
    fraction_correct_median: float


def simulate(
    scale: Scale, task: str, listener: Listener, trials: int, days: int, rng: np.random.Generator
) -> Simulated:
    """Let one listener practise on successive days.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.
    task : str
        One of the names in `trainer.listening.links.LINKS`.
    listener : Listener
        Ears that stay the same over all days.
    trials : int, >= 1
        Answers a day.
    days : int, >= 1
        Days of practice, one after the other.
    rng : numpy.random.Generator
        Source of the listener's sensations.

    Returns
    -------
    Simulated
        The estimate is the one after the last answer of the last day.

    Raises
    ------
    BadValue
        If trials or days are below 1.
    """
    for name, value in (("trials", trials), ("days", days)):
        if value < 1:
            raise BadValue("simulation", name, value, "1 or more")
    track = Track.begin(scale)
    right = 0
    for day in range(days):
        track = track.after_days(1) if day else track
        for _ in range(trials):
            amount = track.next_amount(task)
            correct = listener.answer(amount, task, rng)
            track = track.after(amount, correct, task)
            right += correct
    found = track.estimate()
    return Simulated(found.median, found.low, found.high, right / track.trials, track.trials)


def summarise(results: Sequence[Simulated], threshold: float) -> Summary:
    """Compare what was found of many listeners with their common threshold.

    Parameters
    ----------
    results : sequence of Simulated, not empty
        What was found of each.
    threshold : float, > 0
        Their true threshold, in the skill's unit.

    Returns
    -------
    Summary
        With one listener alone the standard deviation is 0.

    Raises
    ------
    BadValue
        If there are no results or the threshold is not above 0.
    """
    if not results:
        raise BadValue("simulation", "results", "none", "at least one listener")
    if not threshold > 0.0:
        raise BadValue("simulation", "threshold", threshold, "a number above 0")
    error_log10 = np.log10([found.estimate / threshold for found in results])
    return Summary(
        bias_log10=float(error_log10.mean()),
        sd_log10=float(error_log10.std(ddof=1)) if len(results) > 1 else 0.0,
        within_20_percent=float(np.mean(np.abs(error_log10) <= np.log10(1.2))),
        coverage_95=float(np.mean([found.low <= threshold <= found.high for found in results])),
        fraction_correct_median=float(np.median([found.fraction_correct for found in results])),
    )
