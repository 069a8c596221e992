"""One listener's threshold in one skill: what is known, what to ask, what an answer teaches."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from trainer.errors import BadValue
from trainer.listening.carry_over import forget
from trainer.listening.links import link_for
from trainer.listening.placement import choose_amount
from trainer.listening.scale import (
    LAPSES,
    SLOPES,
    THRESHOLD_STEPS,
    Scale,
    attentive_correct_at,
    population_prior,
    threshold_grid,
)

__all__ = ["Estimate", "Scale", "Track"]

Floats = npt.NDArray[np.float64]

SHAPE = (THRESHOLD_STEPS, len(SLOPES), len(LAPSES))
LIKELIHOOD_POWER = 0.9
"""Below 1 because a real listener wanders within a sitting, so that answers tell a little less."""

SETTLED_HALF_WIDTH_RATIO = 1.5
EDGE_SHARE = 0.20
SLIP = 0.05
SLIPS_CERTAIN = 0.8


@dataclass(frozen=True)
class Estimate:
    """Say where a threshold lies, in the skill's unit.

    Parameters
    ----------
    median : float
        As likely too high as too low.
    low, high : float
        The 95 % interval.
    trials : int
        Answers it rests on.
    edge : "low", "high" or None
        The side on which more than 20 % of the probability lies at or beyond the amounts that can be asked:
        the threshold is finer or coarser than can be tested.
    """

    median: float
    low: float
    high: float
    trials: int
    edge: Literal["low", "high"] | None

    @property
    def half_width_ratio(self) -> float:
        """Return √(high / low), the factor either way."""
        return math.sqrt(self.high / self.low)

    @property
    def settled(self) -> bool:
        """Tell whether the interval is narrow enough, and within what can be tested, to be shown as a finding."""
        return self.edge is None and self.half_width_ratio <= SETTLED_HALF_WIDTH_RATIO


@dataclass(frozen=True, eq=False)
class Track:
    """Hold what is known of one listener in one skill; every method returns something new.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.
    posterior : ndarray, shape (81, 7, 4), read-only
        Probability of each threshold, slope and lapse rate; the sum is 1.
    trials : int, >= 0
        Answers taken in.
    likelihood_power : float, above 0 to 1
        Weight of one answer, 1 for Bayes' rule as it stands.

    Notes
    -----
    d' = 1.5 (amount / threshold) ** slope, and P(right) = lapse · guess + (1 − lapse) · link(d').
    Watson, J. Vision 17(3):10 (2017) describes such a grid; Wichmann & Hill, Perception &
    Psychophysics 63 (2001) why the lapse rate is left free. Both from memory.
    """

    scale: Scale
    posterior: Floats
    trials: int = 0
    likelihood_power: float = LIKELIHOOD_POWER

    def __post_init__(self) -> None:
        """Refuse what is no probability and keep a read-only copy of what is."""
        posterior = np.array(self.posterior, dtype=np.float64, order="C")
        if posterior.shape != SHAPE:
            raise BadValue("track", "posterior", posterior.shape, f"the shape {SHAPE}")
        if not (np.all(posterior >= 0.0) and abs(posterior.sum() - 1.0) < 1e-9):
            raise BadValue("track", "posterior", float(posterior.sum()), "probabilities that sum to 1")
        if self.trials < 0:
            raise BadValue("track", "trials", self.trials, "0 or more")
        if not 0.0 < self.likelihood_power <= 1.0:
            raise BadValue("track", "likelihood_power", self.likelihood_power, "above 0 and at most 1")
        posterior.setflags(write=False)
        object.__setattr__(self, "posterior", posterior)

    @classmethod
    def begin(cls, scale: Scale, *, likelihood_power: float = LIKELIHOOD_POWER) -> Track:
        """Return the track of somebody who has not answered yet.

        Parameters
        ----------
        scale : Scale
            The skill's amounts.
        likelihood_power : float, above 0 to 1
            Weight of one answer.
        """
        return cls(scale, population_prior(scale), likelihood_power=likelihood_power)

    def next_amount(self, task: str) -> float:
        """Return the amount to ask next, in the skill's unit; see `placement.choose_amount`."""
        return choose_amount(self.scale, self.posterior, task)

    def predict_correct(self, amount: float, task: str) -> float:
        """Return the probability that the next answer is right.

        Parameters
        ----------
        amount : float, > 0
            Amount asked, in the skill's unit.
        task : str
            One of the names in `trainer.listening.links.LINKS`.
        """
        return float(np.sum(self.posterior * self._correct(amount, task)))

    def after(self, amount: float, correct: bool, task: str) -> Track:
        """Return the track that has taken in one answer.

        Parameters
        ----------
        amount : float, > 0
            Amount that was asked, in the skill's unit; any amount, on a level or not.
        correct : bool
            Whether the answer was right.
        task : str
            One of the names in `trainer.listening.links.LINKS`.

        Raises
        ------
        BadValue
            If the amount is not positive and finite or no task has this name.
        """
        right = self._correct(amount, task)
        likelihood = right if correct else 1.0 - right
        joint = self.posterior * likelihood**self.likelihood_power
        return replace(self, posterior=joint / joint.sum(), trials=self.trials + 1)

    def after_days(self, days: int) -> Track:
        """Return the track as it stands after some days without an answer.

        Parameters
        ----------
        days : int, >= 0
            Whole days since the last answer; 0 changes nothing.

        Raises
        ------
        BadValue
            If the days are negative.
        """
        if days < 0:
            raise BadValue("track", "days", days, "0 or more")
        return self if days == 0 else replace(self, posterior=forget(self.scale, self.posterior, days))

    def threshold_probability(self) -> Floats:
        """Return the probability of each threshold of `scale.threshold_grid`, shape (81,)."""
        return np.asarray(self.posterior.sum(axis=(1, 2)), dtype=np.float64)

    def estimate(self) -> Estimate:
        """Return the median threshold and its 95 % interval, in the skill's unit."""
        marginal = self.threshold_probability()
        low, median, high = _quantiles(self.scale, marginal, (0.025, 0.5, 0.975))
        edge: Literal["low", "high"] | None = None
        grid, near = threshold_grid(self.scale), 1.0 + 1e-9
        below = float(marginal[grid <= self.scale.amount_low * near].sum())
        beyond = float(marginal[grid >= self.scale.amount_high / near].sum())
        if max(below, beyond) > EDGE_SHARE:
            edge = "low" if below > beyond else "high"
        return Estimate(median, low, high, self.trials, edge)

    def slips_likely(self) -> bool:
        """Tell whether the listener almost certainly misses at least one easy question in twenty."""
        return bool(self.posterior[..., LAPSES >= SLIP].sum() > SLIPS_CERTAIN)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON, from which `from_dict` continues exactly."""
        return {
            "scale": asdict(self.scale),
            "posterior": self.posterior.ravel().tolist(),
            "trials": self.trials,
            "likelihood_power": self.likelihood_power,
        }

    @classmethod
    def from_dict(cls, values: Mapping[str, Any]) -> Track:
        """Return the track that `to_dict` wrote down.

        Parameters
        ----------
        values : mapping
            The keys scale, posterior, trials and likelihood_power.

        Raises
        ------
        BadValue
            If a key is missing, strange or out of bounds.
        """
        wanted = {"scale", "posterior", "trials", "likelihood_power"}
        if set(values) != wanted:
            raise BadValue("track", "keys", sorted(values), ", ".join(sorted(wanted)))
        try:
            posterior = np.asarray(values["posterior"], dtype=np.float64).reshape(SHAPE)
            trials, power = int(values["trials"]), float(values["likelihood_power"])
            scale = Scale(**values["scale"])
        except (TypeError, ValueError) as fault:
            raise BadValue("track", "record", fault, "what to_dict wrote down") from fault
        return cls(scale, posterior, trials, power)

    def _correct(self, amount: float, task: str) -> Floats:
        """Return P(right) for each threshold, slope and lapse rate."""
        if not (math.isfinite(amount) and amount > 0.0):
            raise BadValue("track", "amount", amount, "a finite number above 0")
        attentive = attentive_correct_at(self.scale, float(amount), task)[..., None]
        return np.asarray(LAPSES * link_for(task).guess + (1.0 - LAPSES) * attentive, dtype=np.float64)


def _quantiles(scale: Scale, marginal: Floats, shares: tuple[float, ...]) -> tuple[float, ...]:
    """Return thresholds below which some shares lie, each grid point standing for its cell."""
    centres = np.log(threshold_grid(scale))
    half = 0.5 * (centres[1] - centres[0])
    borders = np.append(centres - half, centres[-1] + half)
    found = np.interp(shares, np.append(0.0, np.cumsum(marginal)), borders)
    return tuple(float(value) for value in np.exp(np.clip(found, centres[0], centres[-1])))
