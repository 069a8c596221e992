"""Pops: a bump or a breath into a microphone, nearly all of it below what a kick drum holds."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.faults.finding import Finding
from trainer.measure.steps import STEP_S, Wave, multiply_steps

LOW_HZ = 100.0
LENGTH_STEPS = 8
BESIDE_STEPS = 100
# Over the level below 100 Hz around it; over nearly all other bursts of the file there, kicks among them.
OVER_LEVEL_DB, OVER_OTHERS_DB = 10.0, 6.0
# Where a file is cut into or off there is a bump that is no pop.
EDGE_STEPS = 20
FAINTEST = 1e-7


class PopScanner:
    """Follow the power below 100 Hz, block by block; a finding's strength is dB over the 2 s around it there."""

    def __init__(self, rate_hz: int) -> None:
        self.rate_hz = rate_hz
        self._sections = scipy.signal.butter(4, LOW_HZ, "lowpass", fs=rate_hz, output="sos")
        self._state = np.zeros((2, 1, 2))
        self._power: list[Wave] = []

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames)."""
        if block.shape[1]:
            middle = block.mean(axis=0, keepdims=True, dtype=np.float64)
            low, self._state = scipy.signal.sosfilt(self._sections, middle, axis=1, zi=self._state)
            self._power.append(multiply_steps(low, low, self.rate_hz)[0] / (self.rate_hz / 100))

    def finish(self, channels: int) -> tuple[Finding, ...]:
        """Give all pops."""
        power = scipy.ndimage.uniform_filter1d(np.concatenate([np.zeros(1), *self._power]), LENGTH_STEPS)
        if power.size < 2 * BESIDE_STEPS:
            return ()
        tallest = scipy.ndimage.maximum_filter1d(power, 2 * LENGTH_STEPS + 1)
        tops = np.flatnonzero((power == tallest) & (power > FAINTEST))
        if tops.size == 0:
            return ()
        others = float(np.percentile(power[tops], 90)) if tops.size > 10 else 0.0
        found = []
        tops = tops[(tops > EDGE_STEPS) & (tops < power.size - EDGE_STEPS)]
        for top in tops[power[tops] > others * 10 ** (OVER_OTHERS_DB / 10)].tolist():
            around = power[max(0, top - BESIDE_STEPS) : top + BESIDE_STEPS]
            over = 10 * float(np.log10(power[top] / max(float(np.median(around)), FAINTEST)))
            if over > OVER_LEVEL_DB:
                first = (top - LENGTH_STEPS / 2) * STEP_S
                named = "mono" if channels == 1 else "both"
                found.append(Finding("pop", max(0.0, first), first + LENGTH_STEPS * STEP_S, named, over, "dB"))
        return tuple(found)
