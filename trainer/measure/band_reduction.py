"""How far one band was turned down, read from the sound before and after."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.measure.contents import Band, pass_band
from trainer.measure.reduction import STEP_S, Reduction, measure_reduction

# A step holds two periods of the band's lowest tone, as far as that leaves it short enough to follow a beat.
PERIODS = 2.0
LONGEST_STEP_S = 0.02
# Where the band is further below its loudest, its neighbours' skirts are read and not the band.
QUIETEST_DB = -30.0


def choose_step_s(band_hz: Band) -> float:
    """Choose the length of a step for a band: two periods of its low edge, 1 to 20 ms."""
    low = band_hz[0]
    return LONGEST_STEP_S if low <= 0 else min(LONGEST_STEP_S, max(STEP_S, PERIODS / low))


def measure_band_reduction(
    before: npt.NDArray[np.floating],
    after: npt.NDArray[np.floating],
    rate_hz: int,
    band_hz: Band,
    resting_gain: float = 1.0,
) -> Reduction:
    """Measure the gain of one band over time.

    Parameters
    ----------
    before, after : ndarray, shape (frames, channels)
        Input and output, sample for sample.
    rate_hz : int
        Sampling rate.
    band_hz : (float, float)
        Low and high edge; both sounds are filtered with 24 dB an octave beyond them. 0 and infinity leave a side open.
    resting_gain : float
        Amplitude factor of the output where nothing is reduced.

    Returns
    -------
    Reduction
        In steps of 1 to 20 ms, by the band's lowest tone; where the band is silent the value before stays.
    """
    was = pass_band(before.astype(np.float64), band_hz, rate_hz)
    became = pass_band(after.astype(np.float64), band_hz, rate_hz)
    return measure_reduction(was, became, rate_hz, resting_gain, choose_step_s(band_hz), QUIETEST_DB)
