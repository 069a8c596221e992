"""What is left of one sound when another is taken away from it at the best level."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

BLOCK = 1 << 18
# Float32 samples cannot tell less than this from nothing.
LOWEST_DB = -150.0


@dataclass(frozen=True)
class Residual:
    """Say what is left.

    Parameters
    ----------
    gain_db : float
        What the first has to be turned by to leave the least, dB.
    below_song_db : float
        Level of what is left against the second, dB; −150 where that is nothing.
    level_dbfs : float
        Its RMS level over both channels, full scale being 1.0, dB; −150 or more.
    """

    gain_db: float
    below_song_db: float
    level_dbfs: float


def measure_residual(first: npt.NDArray[np.floating], second: npt.NDArray[np.floating]) -> Residual:
    """Take the first from the second at the gain that leaves the least.

    Parameters
    ----------
    first, second : ndarray, shape (frames, channels)
        In step, of one length.

    Returns
    -------
    Residual
        The gain is the least-squares one, <first, second> / <first, first>; with nothing to take, 0 dB and all left.
    """
    blocks = [slice(start, start + BLOCK) for start in range(0, first.shape[0], BLOCK)]
    own, common, whole = (
        sum(_multiply(one[block], two[block]) for block in blocks)
        for one, two in ((first, first), (first, second), (second, second))
    )
    gain = common / own if own > 0 else 0.0
    left = sum(_square(second[block], first[block], gain) for block in blocks)
    gain_db = 20 * math.log10(gain) if gain > 0 else 0.0
    below = left / whole if whole > 0 else 0.0
    return Residual(gain_db, _to_db(below), _to_db(left / max(first.size, 1)))


def _multiply(one: npt.NDArray[np.floating], two: npt.NDArray[np.floating]) -> float:
    return float(np.einsum("fc,fc->", one, two, dtype=np.float64))


def _square(second: npt.NDArray[np.floating], first: npt.NDArray[np.floating], gain: float) -> float:
    """Energy of what is left of a block."""
    rest = second - gain * first.astype(np.float64)
    return float((rest**2).sum())


def _to_db(power: float) -> float:
    return max(LOWEST_DB, 10 * math.log10(power)) if power > 0 else LOWEST_DB
