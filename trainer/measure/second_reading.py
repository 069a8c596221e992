"""An independent second reading of loudness, by another meter, that guards what is played."""

from __future__ import annotations

import math
import warnings

import numpy as np
import numpy.typing as npt

from trainer.audio.loops import extend_loop

# The library's default filters read 0.03-0.045 LU low; this class follows ITU-R BS.1770.
FILTER_CLASS = "DeMan"


def read_loop_lufs(samples: npt.NDArray[np.floating], rate_hz: int, rounds: int = 3) -> float:
    """Read a loop's integrated loudness with pyloudnorm over some rounds of it.

    Parameters
    ----------
    samples : ndarray, shape (frames, 2)
        One round of the loop.
    rate_hz : int
        Sampling rate.
    rounds : int
        How often it is repeated; the first one carries the start of the filters.

    Returns
    -------
    float
        Loudness, LUFS; minus infinity for silence.
    """
    import pyloudnorm  # here, because it takes a second to load and the window's process never reads

    # 300 ms more, so that a 400 ms block begins at every 100 ms of every round, the last one too.
    after = (rounds - 1) * samples.shape[0] + int(0.3 * rate_hz)
    repeated = extend_loop(samples, 0, after).astype(np.float64)
    meter = pyloudnorm.Meter(rate_hz, filter_class=FILTER_CLASS)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        reading = float(meter.integrated_loudness(repeated))
    return reading if math.isfinite(reading) else -math.inf
