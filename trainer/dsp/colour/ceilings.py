"""Curves that shave what is above a level: with a hard corner, or with a soft bend into it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.dsp.colour.bend import Bend
from trainer.dsp.colour.oversampling import Beside, Wave, begin_added
from trainer.dsp.processor import Processor, Rows
from trainer.units import db_to_gain

HARD_OVERSAMPLING = 8
SOFT_OVERSAMPLING = 4
# A soft bend begins here, in parts of the level that it never passes.
BEND_BEGINS = 0.5


@dataclass(frozen=True)
class HardCorner:
    """Leave all below a level as it is and nothing above it; the level is an amplitude above 0."""

    level: float

    def write_added(self, wave: Wave, added: Wave) -> None:
        """Write into ``added`` what is added to a float32 wave of any shape."""
        np.clip(wave, np.float32(-self.level), np.float32(self.level), out=added)
        added -= wave


@dataclass(frozen=True)
class SoftCorner:
    """Leave all below half of a level as it is, and bend the rest by a hyperbolic tangent so as never to pass it."""

    level: float

    def write_added(self, wave: Wave, added: Wave) -> None:
        """Write into ``added`` what is added to a float32 wave of any shape; nothing below the bend."""
        begins = np.float32(self.level * BEND_BEGINS)
        beyond = np.clip(wave, -begins, begins)
        np.subtract(wave, beyond, out=beyond)
        Bend(1 / (self.level * (1 - BEND_BEGINS)), 0.0).write_added(beyond, added)


class SoftClip:
    """Bend what is near a level softly into it, at four times the rate: a way to go before a limiter.

    Parameters
    ----------
    threshold_dbfs : float
        The level that the bent wave never passes, dBFS. The way down to the lower rate may swing above it again: a few
        tenths of a dB where it is used gently, 2 dB and more where noise is driven 12 dB into it. Nothing happens 6 dB
        below it and further down.
    rate_hz : int
        Rate of the sound, which should hold nothing above 21 kHz, see `trainer.dsp.band_limit`.
    """

    def __init__(self, threshold_dbfs: float, rate_hz: int) -> None:
        corner = SoftCorner(db_to_gain(threshold_dbfs))
        self._path = Beside(begin_added(corner.write_added, SOFT_OVERSAMPLING, rate_hz))
        self.latency_frames = self._path.latency_frames

    def process(self, block: Rows) -> Rows:
        """Take a block."""
        return self._path.process(block)


def begin_hard_clip(threshold_dbfs: float, rate_hz: int) -> Processor:
    """Begin a hard corner at eight times the rate; parameters as for `SoftClip`."""
    corner = HardCorner(db_to_gain(threshold_dbfs))
    return Beside(begin_added(corner.write_added, HARD_OVERSAMPLING, rate_hz))
