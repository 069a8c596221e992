"""How a gain reduction rises at once and comes back slowly, in closed form instead of sample by sample."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

Trace = npt.NDArray[np.float64]
# In the logarithmic domain silence is a number far below any reduction that matters.
NOTHING = -1e6


def decay_coefficient(time_s: float, step_s: float) -> float:
    """Give the factor a step by which a one-pole of a time constant (63 %) falls."""
    return float(np.exp(-step_s / time_s))


def hold_and_release(reduction_db: Trace, release_s: float, step_s: float) -> Trace:
    """Follow rises at once and fall with a one-pole: ``y[n] = max(g[n], a y[n-1] + (1-a) g[n])``.

    Parameters
    ----------
    reduction_db : ndarray, shape (steps,)
        Wished reduction g, dB, 0 or more; before the start it is 0.
    release_s : float
        Time constant of the fall, s, above 0.
    step_s : float
        Time from value to value, s.

    Returns
    -------
    ndarray of float64, shape (steps,)
        Equal to the step-by-step recursion to rounding.

    Notes
    -----
    The smooth decoupled peak detector of D. Giannoulis, M. Massberg and J. D. Reiss, "Digital dynamic range
    compressor design", J. Audio Eng. Soc. 60(6), 2012. Each step is the larger of two rising straight lines of
    the last value, so the whole is the largest over all steps k at which it may last have been set: with L the
    plain one-pole, ``y[n] = L[n] + max(0, max over k <= n of a**(n-k) (g[k] - L[k]))``.
    """
    a = decay_coefficient(release_s, step_s)
    smooth = np.asarray(scipy.signal.lfilter([1 - a], [1, -a], reduction_db), dtype=np.float64)
    return smooth + decaying_maximum(np.maximum(reduction_db - smooth, 0.0), a)


def decaying_maximum(values: Trace, factor: float) -> Trace:
    """Give ``m[n] = max(values[n], factor * m[n-1])`` for values of 0 or more and a factor below 1.

    In the logarithmic domain this is a running maximum of values with a slope taken off.
    """
    slope = -np.log(factor) * np.arange(values.size)
    with np.errstate(divide="ignore"):
        logarithm = np.maximum(np.log(values), NOTHING)
    lifted = np.maximum.accumulate(logarithm + slope) - slope
    return np.where(lifted > NOTHING / 2, np.exp(np.minimum(lifted, 700.0)), 0.0)
