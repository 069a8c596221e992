"""What is left of a bounce without another one, read where both can be compared."""

from __future__ import annotations

import numpy as np
import scipy

from trainer.audio.clip import Clip
from trainer.decisions.bounces import Bounce, Heard
from trainer.measure.residual import Residual, measure_residual

# Where rates differ, the residual is read below so much of the lowest rate.
LIMIT_SHARE, LIMIT_TAPS, LIMIT_BETA = 0.43, 255, 9.0


class Residuals:
    """Measure what is left of pairs; a part that was limited once is kept."""

    def __init__(self, heard: tuple[Heard, ...]) -> None:
        self._heard = heard
        self._limited: dict[tuple[int, float], Clip] = {}

    def measure(self, a: int, b: int) -> tuple[Residual, float | None]:
        """Measure on all that is common, and give the limit up to which, Hz, or None where there is none.

        Clocks that differ leave only the stretch in step.
        """
        first, second = self._heard[a], self._heard[b]
        if first.bounce.alignment.drift_ppm or second.bounce.alignment.drift_ppm:
            return measure_residual(first.matched.loop.samples, second.matched.loop.samples), None
        limit_hz = _find_limit(first.bounce, second.bounce)
        parts = [self._limit(index, limit_hz).samples for index in (a, b)]
        return measure_residual(*parts), limit_hz

    def _limit(self, index: int, limit_hz: float | None) -> Clip:
        """Keep of a common part what lies below a limit."""
        common = self._heard[index].common
        if limit_hz is None:
            return common
        if (index, limit_hz) not in self._limited:
            taps = scipy.signal.firwin(LIMIT_TAPS, limit_hz, window=("kaiser", LIMIT_BETA), fs=common.rate_hz)
            row = np.asarray(taps, dtype=np.float32)[:, None]
            low = common.with_samples(scipy.signal.oaconvolve(common.samples, row, mode="same", axes=0))
            self._limited[index, limit_hz] = low
        return self._limited[index, limit_hz]


def _find_limit(first: Bounce, second: Bounce) -> float | None:
    """Find up to where both rates reach, Hz; None where nothing was converted."""
    if not (first.rate_converted or second.rate_converted):
        return None
    rates = [one.evidence.form.sample_rate_hz for one in (first, second)]
    return LIMIT_SHARE * min(*rates, first.clip.rate_hz)
