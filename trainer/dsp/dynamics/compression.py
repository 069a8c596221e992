"""What a compressor wishes: its settings, its static curve, and the level that steers it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.recovery import Trace

NARROWEST_KNEE_DB = 1e-6
# Softer than any threshold that can be set.
SOFTEST_PEAK = 1e-10
# Below this corner a side-chain has no filter.
LOWEST_SIDE_CHAIN_HZ = 10.0
# A time of nothing would leave no number to calculate with.
SHORTEST_TIME_S = 1e-5
# The slow release starts from an average over so long.
SLOW_AVERAGE_S = 0.3
# After so many time constants 6e-6 of the past is left.
FORGOTTEN = 12.0
SIDE_CHAIN_S = 0.5


@dataclass(frozen=True)
class Curve:
    """Hold a static curve.

    Parameters
    ----------
    threshold_dbfs : float
        Level of the highest channel, dBFS (a full-scale sine peaks at 0), in the middle of the knee.
    ratio_to_1 : float
        Rise of the input for 1 dB of rise of the output, dB, 1 or more.
    knee_db : float
        Width of the knee, dB, 0 or more.
    """

    threshold_dbfs: float
    ratio_to_1: float
    knee_db: float

    @property
    def begins_dbfs(self) -> float:
        """Level above which it reduces, dBFS."""
        return self.threshold_dbfs - self.knee_db / 2


@dataclass(frozen=True)
class Ballistics:
    """Times of a compressor, s.

    Parameters
    ----------
    attack_s, release_s : float
        To 63 % of a step. The reduction comes back along both, one after the other.
    slow_release_s : float
        Of what has been reduced for longer (see `ReductionFollower`); 0, or less than 10 ms, for none.
    """

    attack_s: float
    release_s: float
    slow_release_s: float = 0.0


@dataclass(frozen=True)
class Compression:
    """All that makes up a compressor: curve, times, and the corner of the side-chain's high-pass (0 Hz for none)."""

    curve: Curve
    ballistics: Ballistics
    side_chain_hz: float = 0.0


def count_run_up(compression: Compression, loop: Clip) -> int:
    """Count the frames that a loop has to run before it is in steady state.

    The release forgets after one round at the latest: the largest wish of a round sets it, whatever was before. What
    smooths (attack, the slow path's average, the side-chain) forgets in twelve of its time constants.

    Parameters
    ----------
    compression : Compression
        The settings.
    loop : Clip
        The loop.

    Returns
    -------
    int
        Frames.
    """
    times = compression.ballistics
    held_s = min(max(times.release_s, times.slow_release_s) * FORGOTTEN, loop.duration_s)
    return int(np.ceil((held_s + _smooth_s(compression)) * loop.rate_hz))


def forget_s(compression: Compression) -> float:
    """Time after which a song's past no longer matters, s: twelve time constants."""
    times = compression.ballistics
    return max(times.release_s, times.slow_release_s) * FORGOTTEN + _smooth_s(compression)


def _smooth_s(compression: Compression) -> float:
    times = compression.ballistics
    average_s = SLOW_AVERAGE_S if times.slow_release_s > 0 else 0.0
    side_chain_s = SIDE_CHAIN_S if compression.side_chain_hz >= LOWEST_SIDE_CHAIN_HZ else 0.0
    return FORGOTTEN * (times.attack_s + average_s) + side_chain_s


def follow_level_db(rows: npt.NDArray[np.float64], out: npt.NDArray[np.float64] | None = None) -> Trace:
    """Give the level of the higher channel.

    Parameters
    ----------
    rows : ndarray, shape (2, frames)
        What steers the compressor.
    out : ndarray, shape (2, frames)
        Room to work in; its first row is what is given back.

    Returns
    -------
    ndarray of float64, shape (frames,)
        dBFS; −200 for silence.
    """
    magnitudes = np.abs(rows, out=out)
    level = np.maximum(magnitudes[0], magnitudes[1], out=magnitudes[0])
    np.maximum(level, SOFTEST_PEAK, out=level)
    np.log(level, out=level)
    level *= 20 / np.log(10)
    return np.asarray(level)


def reduce_statically(level_db: Trace, curve: Curve, out: npt.NDArray[np.float64] | None = None) -> Trace:
    """Give the reduction that a curve wishes at a level.

    Parameters
    ----------
    level_db : ndarray, shape (n,)
        dBFS.
    curve : Curve
        Threshold, ratio, knee.
    out : ndarray, shape (2, n)
        Room to work in; its first row is what is given back, and may be ``level_db`` itself.

    Returns
    -------
    ndarray, shape (n,)
        dB, 0 or more: 0 below the knee, ``slope * over`` above it, a parabola between, with ``slope = 1 − 1/ratio``.

    Notes
    -----
    D. Giannoulis, M. Massberg, J. D. Reiss, "Digital dynamic range compressor design", J. Audio Eng. Soc. 60(6), 2012,
    soft knee. Written as a sum of what lies inside the knee and what lies above it.
    """
    over, inside = np.empty((2, level_db.size)) if out is None else out
    np.subtract(level_db, curve.begins_dbfs, out=over)
    np.maximum(over, 0.0, out=over)
    if curve.knee_db > NARROWEST_KNEE_DB:
        np.minimum(over, curve.knee_db, out=inside)
        over -= inside
        np.square(inside, out=inside)
        inside *= 0.5 / curve.knee_db
        over += inside
    over *= 1 - 1 / curve.ratio_to_1
    return np.asarray(over)


def design_side_chain(corner_hz: float, rate_hz: int) -> npt.NDArray[np.float64] | None:
    """Design the side-chain's high-pass, 12 dB an octave (Butterworth), as sections; None below 10 Hz."""
    if corner_hz < LOWEST_SIDE_CHAIN_HZ:
        return None
    return np.asarray(scipy.signal.butter(2, corner_hz, "highpass", fs=rate_hz, output="sos"))
