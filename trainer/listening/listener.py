"""A simulated listener that hears, compares and slips, and knows nothing of the engine."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trainer.errors import BadValue

CHOICES = {
    "pick_of_two": 2,
    "pick_of_three": 3,
    "pick_of_four": 4,
    "pick_of_five": 5,
    "pick_of_six": 6,
    "pick_of_seven": 7,
    "pick_of_eight": 8,
    "abx": 2,
    "oddity": 3,
}
"""Number of buttons in each task."""


@dataclass(frozen=True)
class Listener:
    """Answer as somebody with known ears would.

    Parameters
    ----------
    threshold : float, > 0
        Amount at which d' is 1.5, in the skill's unit.
    slope : float, > 0
        Exponent of d' against the amount.
    lapse : float, 0 to 1
        Share of trials answered without listening.

    Notes
    -----
    Every answer is made from random sensations of unit variance, not from a formula for the
    probability of a right answer, so that such a listener tests those formulas too.
    """

    threshold: float
    slope: float = 1.3
    lapse: float = 0.02

    def __post_init__(self) -> None:
        """Refuse ears that cannot be."""
        for name in ("threshold", "slope"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise BadValue("listener", name, value, "a finite number above 0")
        if not 0.0 <= self.lapse <= 1.0:
            raise BadValue("listener", "lapse", self.lapse, "0 to 1")

    def answer(self, amount: float, task: str, rng: np.random.Generator) -> bool:
        """Answer one trial.

        Parameters
        ----------
        amount : float, > 0
            Amount asked, in the skill's unit.
        task : str
            One of the names in `CHOICES`.
        rng : numpy.random.Generator
            Source of the sensations.

        Returns
        -------
        bool
            Whether the answer is right.

        Raises
        ------
        BadValue
            If the amount is not above 0 or no task has this name.
        """
        if not amount > 0.0:
            raise BadValue("listener", "amount", amount, "a number above 0")
        if task not in CHOICES:
            raise BadValue("listener", "task", task, "one of " + ", ".join(CHOICES))
        if rng.random() < self.lapse:
            return bool(rng.integers(CHOICES[task]) == 0)
        return _compare(1.5 * (amount / self.threshold) ** self.slope, task, rng)


def _compare(d_prime: float, task: str, rng: np.random.Generator) -> bool:
    """Draw the sensations of one trial and decide on them."""
    if task == "abx":
        a, b, x = rng.normal((0.0, d_prime, d_prime))
        return bool(abs(x - b) < abs(x - a))
    if task == "oddity":
        one, other, odd = rng.normal((0.0, 0.0, d_prime))
        return bool(abs(one - other) < min(abs(odd - one), abs(odd - other)))
    sensations = rng.standard_normal(CHOICES[task])
    return bool(sensations[0] + d_prime > sensations[1:].max())
