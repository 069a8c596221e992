"""The step of a rounded sound, read from the values that occur in it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

# Near zero the steps of a turned and stored sound are still exact to far less than a step.
NEAR_ZERO = 0.125
SMALLEST = 2.0**-40
DOUBLINGS = 30


def find_step(samples: npt.NDArray[np.floating]) -> float:
    """Find the step between neighbouring values of a sound that was rounded to steps and then turned.

    The smallest distance between two values that occur is the step, if any two neighbours do; it is then made
    more exact by longer and longer distances.

    Parameters
    ----------
    samples : ndarray, any shape
        The sound, full scale 1.0.

    Returns
    -------
    float
        The step; for a sound that was not rounded, some tiny number of at least 2 ** -40. Where all values are 0 or
        of one size, that size.
    """
    magnitudes = np.abs(samples.astype(np.float64)).reshape(-1)
    highest = float(magnitudes.max(initial=0.0))
    if highest <= 0:
        return 1.0
    near = magnitudes[magnitudes <= max(NEAR_ZERO * highest, float(np.quantile(magnitudes, 0.2)))]
    values = np.unique(np.append(near, 0.0))
    distances = np.diff(values) if values.size > 1 else np.array([highest])
    step = max(float(distances.min()), SMALLEST)
    reach = 8 * step
    for _ in range(DOUBLINGS):
        within = magnitudes[(magnitudes > 0) & (magnitudes <= reach)]
        if within.size:
            counts = np.round(within / step)
            step = max(float((within * counts).sum() / max(float((counts**2).sum()), 1.0)), SMALLEST)
        if reach >= highest:
            break
        reach *= 2
    return step
