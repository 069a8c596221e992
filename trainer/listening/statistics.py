"""Odds of a score when nothing was heard."""

from __future__ import annotations

import scipy

from trainer.errors import BadValue


def correct_needed(trials: int, chance: float = 0.5, alpha: float = 0.05) -> int | None:
    """Return the smallest score that guessing reaches with a probability of at most alpha.

    Parameters
    ----------
    trials : int, >= 1
        Answers, fixed beforehand.
    chance : float, between 0 and 1
        Probability of a right answer without hearing anything.
    alpha : float, between 0 and 1
        Accepted probability of being fooled.

    Returns
    -------
    int or None
        Right answers needed; None when even a full score is too likely by chance.

    Raises
    ------
    BadValue
        If an argument is out of bounds.
    """
    _check_trials(trials)
    for name, value in (("chance", chance), ("alpha", alpha)):
        if not 0.0 < value < 1.0:
            raise BadValue("odds", name, value, "between 0 and 1")
    return next((score for score in range(trials + 1) if odds_one_sided(score, trials, chance) <= alpha), None)


def odds_one_sided(correct: int, trials: int, chance: float = 0.5) -> float:
    """Return the probability that guessing gives this many right answers or more.

    Parameters
    ----------
    correct : int, 0 to trials
        Right answers.
    trials : int, >= 1
        Answers.
    chance : float, between 0 and 1
        Probability of a right answer without hearing anything.

    Returns
    -------
    float
        Probability, 0 to 1.

    Raises
    ------
    BadValue
        If a count is out of bounds.
    """
    _check_trials(trials)
    if not 0 <= correct <= trials:
        raise BadValue("odds", "correct", correct, f"0 to {trials}")
    return _tail(correct, trials, chance)


def odds_two_sided(correct: int, trials: int) -> float:
    """Return the probability that a fair coin splits at least as unevenly, either way.

    Parameters
    ----------
    correct : int, 0 to trials
        Right answers, or picks of one of two versions.
    trials : int, >= 1
        Answers or picks.

    Returns
    -------
    float
        Probability, 0 to 1.

    Raises
    ------
    BadValue
        If a count is out of bounds.
    """
    _check_trials(trials)
    if not 0 <= correct <= trials:
        raise BadValue("odds", "correct", correct, f"0 to {trials}")
    return min(1.0, 2.0 * _tail(max(correct, trials - correct), trials, 0.5))


def _tail(correct: int, trials: int, chance: float) -> float:
    """Add up the binomial odds of a score and of all above it."""
    return float(scipy.special.bdtrc(correct - 1, trials, chance))


def _check_trials(trials: int) -> None:
    """Refuse a test without answers."""
    if trials < 1:
        raise BadValue("odds", "trials", trials, "1 or more")
