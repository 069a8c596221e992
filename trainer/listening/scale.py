"""The amounts of one skill: where its threshold may lie and what may be asked."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trainer.errors import BadValue
from trainer.listening.links import link_for

Floats = npt.NDArray[np.float64]

THRESHOLD_STEPS = 81
LEVELS = 41
D_PRIME_AT_THRESHOLD = 1.5

SLOPES = np.geomspace(0.6, 3.2, 7)
SLOPE_CENTRE = 1.3
SLOPE_SD_LN = 0.40

LAPSES = np.array([0.0, 0.02, 0.05, 0.10])
LAPSE_WEIGHTS = np.array([0.35, 0.40, 0.18, 0.07])

for _constant in (SLOPES, LAPSES, LAPSE_WEIGHTS):
    _constant.setflags(write=False)


@dataclass(frozen=True)
class Scale:
    """Describe one skill's amounts; every amount grows with audibility and shares one unit.

    Parameters
    ----------
    low, high : float, > 0, low < high
        Bounds of the thresholds that are considered, in the skill's unit.
    prior_median : float, low to high
        The threshold expected of somebody unknown, in the skill's unit.
    amount_low, amount_high : float, > 0, amount_low < amount_high
        Bounds of the amounts that may be asked, in the skill's unit.
    prior_sd_log10 : float, > 0
        Spread of thresholds between people, as a standard deviation of log10(threshold).

    Raises
    ------
    BadValue
        If a bound is not positive and finite or the order is wrong.
    """

    low: float
    high: float
    prior_median: float
    amount_low: float
    amount_high: float
    prior_sd_log10: float = 0.35

    def __post_init__(self) -> None:
        """Refuse bounds that make no scale."""
        for name in ("low", "high", "prior_median", "amount_low", "amount_high", "prior_sd_log10"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise BadValue("scale", name, value, "a finite number above 0")
        if not self.low < self.high:
            raise BadValue("scale", "high", self.high, f"more than low={self.low:g}")
        if not self.low <= self.prior_median <= self.high:
            raise BadValue("scale", "prior_median", self.prior_median, f"{self.low:g} to {self.high:g}")
        if not self.amount_low < self.amount_high:
            raise BadValue("scale", "amount_high", self.amount_high, f"more than {self.amount_low:g}")


@lru_cache(maxsize=64)
def threshold_grid(scale: Scale) -> Floats:
    """Return the thresholds considered.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.

    Returns
    -------
    ndarray, shape (81,), read-only
        Thresholds in the skill's unit, evenly spaced in their logarithm.
    """
    return _locked(np.geomspace(scale.low, scale.high, THRESHOLD_STEPS))


@lru_cache(maxsize=64)
def levels(scale: Scale) -> Floats:
    """Return the amounts that may be asked.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.

    Returns
    -------
    ndarray, shape (41,), read-only
        Amounts in the skill's unit, evenly spaced in their logarithm, smallest first.
    """
    return _locked(np.geomspace(scale.amount_low, scale.amount_high, LEVELS))


def slope_prior() -> Floats:
    """Return the probability of each slope of `SLOPES` before any answer, shape (7,)."""
    weights = np.exp(-0.5 * (np.log(SLOPES / SLOPE_CENTRE) / SLOPE_SD_LN) ** 2)
    return np.asarray(weights / weights.sum(), dtype=np.float64)


def population_prior(scale: Scale) -> Floats:
    """Return what is believed of somebody who has not answered yet.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.

    Returns
    -------
    ndarray, shape (81, 7, 4)
        Probability of each threshold, slope and lapse rate; the sum is 1.
    """
    distance = np.log10(threshold_grid(scale) / scale.prior_median) / scale.prior_sd_log10
    weights = np.exp(-0.5 * distance**2)
    joint = weights[:, None, None] * slope_prior()[:, None] * LAPSE_WEIGHTS
    return np.asarray(joint / joint.sum(), dtype=np.float64)


def attentive_correct(scale: Scale, amounts: npt.ArrayLike, task: str) -> Floats:
    """Return the probability of a right answer when attending, for each threshold and slope.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.
    amounts : array_like, any shape, > 0
        Amounts asked, in the skill's unit.
    task : str
        One of the names in `trainer.listening.links.LINKS`.

    Returns
    -------
    ndarray, shape (..., 81, 7)
        link(d'), with d' = 1.5 (amount / threshold) ** slope.
    """
    wanted = np.asarray(amounts, dtype=np.float64)[..., None, None]
    ratio_ln = np.log(wanted) - np.log(threshold_grid(scale))[:, None]
    # Far above the threshold every answer is right; the limit only keeps exp from overflowing.
    return link_for(task).correct(D_PRIME_AT_THRESHOLD * np.exp(np.minimum(SLOPES * ratio_ln, 100.0)))


@lru_cache(maxsize=4096)
def attentive_correct_at(scale: Scale, amount: float, task: str) -> Floats:
    """Return `attentive_correct` for one amount, shape (81, 7), read-only; a history asks the same ones again."""
    return _locked(attentive_correct(scale, amount, task))


@lru_cache(maxsize=32)
def attentive_correct_at_levels(scale: Scale, task: str) -> Floats:
    """Return `attentive_correct` for every level that may be asked, shape (41, 81, 7), read-only."""
    return _locked(attentive_correct(scale, levels(scale), task))


def _locked(values: Floats) -> Floats:
    """Make an array read-only, so that it can be shared."""
    values.setflags(write=False)
    return values
