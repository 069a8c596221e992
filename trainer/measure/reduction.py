"""How far a gain-riding move turned the sound down, read from the sound before and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

STEP_S = 0.001
HIT_SPACING_S = 0.1
HITS_PER_SECOND = 1.0
QUIETEST_DB = -120.0


@dataclass(frozen=True)
class Reduction:
    """Gain reduction over time.

    Parameters
    ----------
    step_s : float
        Time from one value to the next, s.
    reduction_db : ndarray of float64, shape (steps,)
        How far the gain is below its resting value, dB; 0 or more but for rounding.
    """

    step_s: float
    reduction_db: npt.NDArray[np.float64]

    @property
    def on_hits_db(self) -> float:
        """Mean of the deepest reductions, one to a second of sound and at least 100 ms apart, dB."""
        return measure_on_hits(self.reduction_db, self.step_s)

    @property
    def mean_db(self) -> float:
        """Mean over time, dB."""
        return float(self.reduction_db.mean())

    @property
    def percentile_95_db(self) -> float:
        """Value that is exceeded a twentieth of the time, dB."""
        return float(np.percentile(self.reduction_db, 95))


def measure_reduction(
    before: npt.NDArray[np.floating],
    after: npt.NDArray[np.floating],
    rate_hz: int,
    resting_gain: float,
    step_s: float = STEP_S,
    quietest_db: float = QUIETEST_DB,
) -> Reduction:
    """Measure a gain that varies slowly against a step.

    Parameters
    ----------
    before, after : ndarray, shape (frames, channels)
        Input and output, sample for sample.
    rate_hz : int
        Sampling rate.
    resting_gain : float
        Amplitude factor of the output where nothing is reduced.
    step_s : float
        Length of a step, s.
    quietest_db : float
        Steps further below the strongest one hold no sound, dB.

    Returns
    -------
    Reduction
        The least-squares gain of each step; steps without sound take the value before them.
    """
    length = int(round(step_s * rate_hz))
    steps = before.shape[0] // length
    shape = (steps, length * before.shape[1])
    x = before[: steps * length].astype(np.float64).reshape(shape)
    y = after[: steps * length].astype(np.float64).reshape(shape)
    power = (x * x).sum(axis=1)
    heard = power > 10 ** (quietest_db / 10) * max(float(power.max(initial=0.0)), 1e-30)
    gain = np.where(heard, (x * y).sum(axis=1) / np.maximum(power, 1e-300), np.nan)
    reduction = -20 * np.log10(np.maximum(gain, 1e-9) / resting_gain)
    return Reduction(length / rate_hz, _carry_forward(reduction))


def measure_on_hits(reduction_db: npt.NDArray[np.float64], step_s: float) -> float:
    """Average the deepest separate reductions: one to a second, at least 100 ms apart, dB."""
    spacing = max(1, int(round(HIT_SPACING_S / step_s)))
    wished = max(1, int(round(reduction_db.size * step_s * HITS_PER_SECOND)))
    left = reduction_db.copy()
    deepest = []
    for _ in range(wished):
        place = int(left.argmax())
        if not np.isfinite(left[place]):
            break
        deepest.append(float(left[place]))
        left[max(0, place - spacing) : place + spacing + 1] = -np.inf
    return float(np.mean(deepest))


def _carry_forward(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Fill gaps with the value before them, and a gap at the start with 0."""
    known = np.where(np.isnan(values), 0, np.arange(values.size))
    filled = values[np.maximum.accumulate(known)]
    return np.asarray(np.nan_to_num(filled, nan=0.0))
