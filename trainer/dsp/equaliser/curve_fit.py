"""The amount of a filter, found again in the sound by fitting the filter's analogue curve."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import scipy

from trainer.dsp.equaliser.prototypes import Values
from trainer.dsp.move import Parameter
from trainer.measure.response import Response

# The reading must not stop where what may be asked stops.
BEYOND = 2.0
COARSE = 25


def fit_curve(
    response: Response, curve_db: Callable[[Values, float], Values], parameter: Parameter
) -> tuple[float, float]:
    """Fit a curve of one unknown, and a level besides, to a measured response by least squares in dB.

    Parameters
    ----------
    response : Response
        Gain against frequency, two bands or more.
    curve_db : callable
        Takes frequencies, Hz, and an amount; gives the curve, dB.
    parameter : Parameter
        The unknown: sought between twice its bounds, along octaves if its unit is Hz.

    Returns
    -------
    tuple of float
        The amount, in the parameter's unit, and the level, dB.
    """
    frequencies, gains = response.frequencies_hz, response.gains_db
    octaves = parameter.unit == "Hz"
    low, high = parameter.low * BEYOND, parameter.high * BEYOND
    if octaves:
        low, high = np.log(parameter.low / BEYOND), np.log(high)

    def miss(place: Values) -> Values:
        curve = curve_db(frequencies, float(np.exp(place[0]) if octaves else place[0]))
        return np.asarray(gains - curve - np.mean(gains - curve))

    trials = np.linspace(low, high, COARSE)
    start = min(trials.tolist(), key=lambda place: float(np.sum(miss(np.array([place])) ** 2)))
    place = float(scipy.optimize.least_squares(miss, [start], bounds=([low - 1e-9], [high + 1e-9]), xtol=1e-12).x[0])
    amount = float(np.exp(place)) if octaves else place
    return amount, float(np.mean(gains - curve_db(frequencies, amount)))
