"""Dropouts: holes with sharp edges, in which next to nothing sounds, in the middle of sound."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.faults.finding import Finding, join_findings, name_channel

LONGEST_STEPS = 300
BESIDE_STEPS = 4
AROUND_STEPS = 50
# Within 3 ms the sound falls, and comes back, by more than 34 dB, from and to at least a quarter of what it was and
# will be: played, ringing and faded notes take longer.
EDGE_STEPS = 3
SHARE = 0.25
DEEP = 10 ** (-34 / 20)
LEAST_BESIDE = 10 ** (-45 / 20)


class DropoutScanner:
    """Follow the peaks of every millisecond, block by block.

    A finding's strength is its length, ms.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        self.rate_hz, self._channels = rate_hz, channels
        self._step = max(1, rate_hz // 1000)
        self._rest = np.zeros((channels, 0), dtype=np.float32)
        self._tops: list[npt.NDArray[np.float32]] = []

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames)."""
        joined = np.concatenate([self._rest, block], axis=1) if self._rest.shape[1] else block
        count = joined.shape[1] // self._step
        parts = joined[:, : count * self._step].reshape(self._channels, count, self._step)
        self._tops.append(np.maximum(parts.max(axis=2), -parts.min(axis=2)))
        self._rest = joined[:, count * self._step :]

    def finish(self) -> tuple[Finding, ...]:
        """Give all dropouts."""
        if not self._tops:
            return ()
        found = []
        for channel, tops in enumerate(np.concatenate(self._tops, axis=1)):
            named = name_channel(channel, self._channels)
            found += [self._report(first, last, named) for first, last in _find_holes(tops)]
        return join_findings(found, 0.0)

    def _report(self, first: int, last: int, channel: str) -> Finding:
        step_s = self._step / self.rate_hz
        return Finding("dropout", first * step_s, last * step_s, channel, (last - first) * step_s * 1000, "ms")


def _find_holes(tops: npt.NDArray[np.float32]) -> list[tuple[int, int]]:
    """Find the first millisecond of each hole and the one after its last."""
    if tops.size < AROUND_STEPS:
        return []
    before, earlier = _look_back(tops, BESIDE_STEPS), _look_back(tops, AROUND_STEPS)
    falls = np.flatnonzero((tops < DEEP * before) & (before > LEAST_BESIDE) & (before >= SHARE * earlier))
    holes: list[tuple[int, int]] = []
    for place in falls.tolist():
        if holes and place < holes[-1][1]:
            continue
        hole = _follow_hole(tops, place, float(before[place]))
        if hole is not None:
            holes.append(hole)
    return holes


def _follow_hole(tops: npt.NDArray[np.float32], place: int, before: float) -> tuple[int, int] | None:
    """Follow a fall to where the sound comes back at once; None if it comes back slowly or not at all."""
    ahead = tops[place : place + LONGEST_STEPS]
    back = np.flatnonzero(ahead >= DEEP * before)
    if back.size == 0:
        return None
    last = place + int(back[0])
    after = float(tops[last : last + EDGE_STEPS].max())
    return (place, last) if after >= SHARE * float(tops[last : last + AROUND_STEPS].max()) else None


def _look_back(tops: npt.NDArray[np.float32], steps: int) -> npt.NDArray[np.float32]:
    """Give the highest of so many milliseconds, the last of them 3 ms ago."""
    highest = scipy.ndimage.maximum_filter1d(tops, steps, origin=(steps - 1) // 2)
    return np.concatenate([np.zeros(EDGE_STEPS, np.float32), highest[:-EDGE_STEPS]])
