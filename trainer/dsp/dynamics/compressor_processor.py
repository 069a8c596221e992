"""The compressor under way: sound in blocks of any size, state carried."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.dsp.dynamics.compression import Compression, design_side_chain, follow_level_db, reduce_statically
from trainer.dsp.dynamics.follower import ReductionFollower
from trainer.dsp.dynamics.recovery import Trace
from trainer.dsp.processor import Rows

# Small enough for a processor's cache, so that the many passes over it cost little.
BLOCK_FRAMES = 1 << 15
DB_TO_NEPER = np.log(10) / 20


class GainRider:
    """Turn what steers a compressor into its reduction, stretch after stretch.

    Parameters
    ----------
    compression : Compression
        The settings.
    rate_hz : int
        Sampling rate.
    """

    def __init__(self, compression: Compression, rate_hz: int) -> None:
        sections = design_side_chain(compression.side_chain_hz, rate_hz)
        self._side_chain = None if sections is None else _OneSection(sections[0])
        self._curve = compression.curve
        self._follower = ReductionFollower(compression.ballistics, 1 / rate_hz)
        self._room = np.empty((2, 0))

    def ride(self, rows: Rows) -> Trace:
        """Give the reduction, dB, shape (frames,), that the next rows, shape (2, frames), lead to."""
        if self._room.shape[1] < rows.shape[1]:
            self._room = np.empty(rows.shape)
        room = self._room[:, : rows.shape[1]]
        steering = rows if self._side_chain is None else self._side_chain.process(rows)
        wished = reduce_statically(follow_level_db(steering, room), self._curve, room)
        return self._follower.follow(wished)


class _OneSection:
    """Run a single section with its state kept: for one, the plain filter is a little quicker than that for many."""

    def __init__(self, section: npt.NDArray[np.float64]) -> None:
        self._numerator, self._denominator = section[:3], section[3:]
        self._state = np.zeros((2, 2))

    def process(self, rows: Rows) -> Rows:
        filtered, self._state = scipy.signal.lfilter(self._numerator, self._denominator, rows, axis=-1, zi=self._state)
        return np.asarray(filtered)


def make_gain(reduction_db: Trace) -> Trace:
    """Turn a reduction, dB, into amplitude factors, in place; 0 dB gives 1 exactly."""
    reduction_db *= -DB_TO_NEPER
    return np.asarray(np.exp(reduction_db, out=reduction_db))


class CompressorProcessor:
    """Run the compressor: feed-forward, one gain for both channels, no latency.

    Parameters
    ----------
    compression : Compression
        The settings.
    rate_hz : int
        Sampling rate, Hz.
    """

    latency_frames = 0

    def __init__(self, compression: Compression, rate_hz: int) -> None:
        self._rider = GainRider(compression, rate_hz)

    def process(self, block: Rows) -> Rows:
        """Compress a block."""
        out = np.empty_like(block)
        for start in range(0, block.shape[1], BLOCK_FRAMES):
            part = block[:, start : start + BLOCK_FRAMES]
            np.multiply(part, make_gain(self._rider.ride(part)), out=out[:, start : start + BLOCK_FRAMES])
        return out
