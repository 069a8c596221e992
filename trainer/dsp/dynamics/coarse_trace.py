"""A compressor's reduction on a loop at a tenth of the cost, in which a solver looks for settings."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.loops import extend_loop
from trainer.dsp.dynamics.compression import (
    Compression,
    count_run_up,
    design_side_chain,
    follow_level_db,
    reduce_statically,
)
from trainer.dsp.dynamics.follower import SLOW_STEP_FRAMES, ReductionFollower
from trainer.dsp.dynamics.recovery import Trace
from trainer.dsp.processor import SectionFilter
from trainer.measure.reduction import STEP_S, Reduction
from trainer.measure.weighting import weight_k

# A measuring step of 1 ms is followed in so many parts, each with so many of its levels.
PARTS, SAMPLED = 4, 3


class CoarseTrace:
    """Follow a loop's reduction in quarters of a millisecond; the levels that steer it are read once.

    The largest level of a part sets the release, and the mean of some of them feeds its one-pole, which leaves no
    bias. What error remains, a solver takes out by reading the rendered sound.

    Parameters
    ----------
    loop : Clip
        One round, or the band of it that steers.
    longest : Compression
        Settings whose side-chain is used, and that no other ones to be tried exceed in run-up.
    """

    def __init__(self, loop: Clip, longest: Compression) -> None:
        self.loop = loop
        self.step_frames = int(round(STEP_S * loop.rate_hz))
        self.steps = loop.frames // self.step_frames
        part = self.step_frames // PARTS
        self._part_s = part / loop.rate_hz
        self._steps_before = -(-count_run_up(longest, loop) // self.step_frames)
        extended = extend_loop(loop.samples[: self.steps * self.step_frames], self._steps_before * self.step_frames, 0)
        rows = np.ascontiguousarray(extended.T, dtype=np.float64)
        sections = design_side_chain(longest.side_chain_hz, loop.rate_hz)
        level = follow_level_db(rows if sections is None else SectionFilter(sections).process(rows))
        parts = level[: level.size // part * part].reshape(-1, part)
        self._highest = parts.max(axis=1)
        self._sampled = np.ascontiguousarray(parts[:, :: part // SAMPLED][:, :SAMPLED].T)

    @property
    def peak_dbfs(self) -> float:
        """Highest level that steers, dBFS."""
        return float(self._highest.max())

    def reduce(self, compression: Compression) -> Reduction:
        """Follow the reduction that settings lead to, in steps of 1 ms round the loop."""
        follower = ReductionFollower(
            compression.ballistics, self._part_s, max(1, SLOW_STEP_FRAMES * PARTS // self.step_frames)
        )
        sampled = reduce_statically(self._sampled.reshape(-1), compression.curve).reshape(SAMPLED, -1)
        followed = follower.follow(reduce_statically(self._highest, compression.curve), sampled.mean(axis=0))
        last = followed[followed.size - self.steps * PARTS :]
        return Reduction(self._part_s * PARTS, last.reshape(self.steps, PARTS).mean(axis=1))

    @cached_property
    def power(self) -> Trace:
        """Power of each step, channels summed."""
        return self._sum_up(self.loop.samples.astype(np.float64) ** 2)

    @cached_property
    def weighted_power(self) -> Trace:
        """K-weighted power of each step, channels summed."""
        return self._sum_up(weight_k(self.loop.samples, self.loop.rate_hz) ** 2)

    def _sum_up(self, squares: npt.NDArray[np.float64]) -> Trace:
        whole = squares[: self.steps * self.step_frames].sum(axis=1)
        return np.asarray(whole.reshape(self.steps, self.step_frames).sum(axis=1))
