"""How far the fronts of hits stand out of the song: what a compressor's attack lets through."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.measure.beat import Flags
from trainer.measure.hits import FRAME_S
from trainer.measure.weighting import weight_k

FRONT_S = 0.01
# The front is looked for from so long before the place of a hit to so long after it.
BEFORE_S, AFTER_S = 0.02, 0.05


def measure_fronts_over_song(samples: npt.NDArray[np.floating], rate_hz: int, hits: Flags) -> float | None:
    """Measure how far the loudest 10 ms of hits stand over the song.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        A round of a loop.
    rate_hz : int
        Sampling rate.
    hits : ndarray of bool, shape (steps of 10 ms,)
        Where to look, as found in the version compared with, so that versions are read at the same places.

    Returns
    -------
    float or None
        Mean effective value of each hit's loudest 10 ms over the K-weighted level of the whole, dB; None without hits.
    """
    if not hits.any() or samples.shape[0] < FRONT_S * rate_hz:
        return None
    power = (samples.astype(np.float64) ** 2).sum(axis=1)
    return compare_fronts(power, (weight_k(samples, rate_hz) ** 2).sum(axis=1), 1 / rate_hz, hits)


def compare_fronts(
    power: npt.NDArray[np.float64], weighted_power: npt.NDArray[np.float64], step_s: float, hits: Flags
) -> float:
    """Do the same from powers, plain and K-weighted, in steps of any length; one hit or more."""
    width = max(1, round(FRONT_S / step_s))
    total = np.concatenate([[0.0], np.cumsum(np.concatenate([power, power[: width - 1]]))])
    fronts = (total[width:] - total[:-width]) / width
    reach = np.arange(-round(BEFORE_S / step_s), round((AFTER_S - FRONT_S) / step_s) + 1)
    places = np.round(np.flatnonzero(hits) * FRAME_S / step_s).astype(int)
    loudest = fronts[(places[:, None] + reach) % fronts.size].max(axis=1)
    level = np.sqrt(np.maximum(loudest, 0.0)).mean()
    return float(20 * np.log10(level + 1e-12) - 10 * np.log10(weighted_power.mean() + 1e-20))
