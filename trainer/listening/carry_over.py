"""What is still known of a listener after days without an answer."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trainer.listening.scale import LAPSE_WEIGHTS, Scale, slope_prior, threshold_grid

Floats = npt.NDArray[np.float64]

NIGHT_SD_LOG10 = 0.05
DAY_SD_LOG10 = 0.04
LONGEST_ABSENCE_DAYS = 30
JUMP_CHANCE = 0.05
JUMP_SD_LOG10 = 0.30
FORGOTTEN = 0.10


def forget(scale: Scale, posterior: Floats, days: int) -> Floats:
    """Widen a posterior for the days that passed.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.
    posterior : ndarray, shape (81, 7, 4)
        Probability of each threshold, slope and lapse rate; the sum is 1.
    days : int, >= 1
        Days since the last answer.

    Returns
    -------
    ndarray, shape (81, 7, 4)
        The sum is 1. The logarithm of the threshold is blurred by √(0.05² + 0.04² days), at most
        30 days, with a 5 % chance of a jump of 0.30; slope and lapse rate each go back to what is
        common with a chance of 10 %.
    """
    moved = (_widen(scale, days) @ posterior.reshape(len(posterior), -1)).reshape(posterior.shape)
    slopes_forgotten = moved.sum(axis=1, keepdims=True) * slope_prior()[:, None]
    moved = (1.0 - FORGOTTEN) * moved + FORGOTTEN * slopes_forgotten
    lapses_forgotten = moved.sum(axis=2, keepdims=True) * LAPSE_WEIGHTS
    moved = (1.0 - FORGOTTEN) * moved + FORGOTTEN * lapses_forgotten
    return np.asarray(moved / moved.sum(), dtype=np.float64)


@lru_cache(maxsize=1024)
def _widen(scale: Scale, days: int) -> Floats:
    """Return the chance of going from one threshold (column) to another (row) in some days."""
    return (1.0 - JUMP_CHANCE) * _blur(scale, _spread(days)) + JUMP_CHANCE * _blur(scale, JUMP_SD_LOG10)


def _spread(days: int) -> float:
    """Return the standard deviation of log10(threshold) gained over some days."""
    return float(np.hypot(NIGHT_SD_LOG10, DAY_SD_LOG10 * np.sqrt(min(days, LONGEST_ABSENCE_DAYS))))


def _blur(scale: Scale, sd_log10: float) -> Floats:
    """Return the chance of going from one threshold (column) to another (row); columns sum to 1."""
    position = np.log10(threshold_grid(scale))
    kernel = np.exp(-0.5 * ((position[:, None] - position) / sd_log10) ** 2)
    return np.asarray(kernel / kernel.sum(axis=0), dtype=np.float64)
