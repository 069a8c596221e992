"""Overlapping raised-cosine moves between numbered values."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[np.float32]

SLOTS = 16


def draw_rise(length: int, tail: int) -> Samples:
    """Draw a raised-cosine rise from 0 to 1, followed by ones.

    Parameters
    ----------
    length : int > 0
        Frames of the rise: frame ``a`` has the value ``(1 - cos(pi a / length)) / 2``.
    tail : int >= 0
        Ones that follow, so that a block may reach past the end.

    Returns
    -------
    ndarray of float32, shape (length + tail, 2)
        The same curve for the left and the right channel.
    """
    curve = np.ones(length + tail)
    curve[:length] = 0.5 - 0.5 * np.cos(math.pi * np.arange(length) / length)
    return np.ascontiguousarray(np.repeat(curve.astype(np.float32)[:, np.newaxis], 2, axis=1))


class Glide:
    """Follow one number out of several, with moves that may overlap.

    A move adds ``rise(age) * (value[to] - value[from])`` to what came before. The weights of all
    values therefore sum to 1 in every frame, whatever the order of requests; a request in the middle
    of a move goes on from the present weights, without even a kink; and values that are equal stay
    equal bit by bit while a move between them runs.

    Parameters
    ----------
    settled : int
        The number to begin with.
    length : int > 0
        Frames of one move.
    """

    __slots__ = ("ages", "count", "length", "settled", "targets")

    def __init__(self, settled: int, length: int) -> None:
        self.settled, self.length, self.count = settled, length, 0
        self.targets = [settled] * SLOTS
        self.ages = [0] * SLOTS

    def move(self, target: int) -> bool:
        """Begin a move; False when too many overlap already, to be asked again a block later."""
        if self.count == SLOTS:
            return False
        self.targets[self.count] = target
        self.ages[self.count] = 0
        self.count += 1
        return True

    def jump(self, target: int) -> None:
        """Be at a number at once; only for use where nothing is heard."""
        self.settled, self.count = target, 0

    def reset(self, settled: int, length: int) -> None:
        """Begin anew with moves of another length."""
        self.settled, self.length, self.count = settled, length, 0

    def rests_at(self, value: int) -> bool:
        """Tell whether no move runs and the number is this one."""
        return self.count == 0 and self.settled == value

    def frames_left(self) -> int:
        """Give the frames until the newest move ends; 0 at rest."""
        return self.length - self.ages[self.count - 1] if self.count else 0

    def advance(self, frames: int) -> None:
        """Let time pass, and drop the moves that have ended."""
        for slot in range(self.count):
            self.ages[slot] += frames
        while self.count and self.ages[0] >= self.length:
            self.settled = self.targets[0]
            self.count -= 1
            for slot in range(self.count):
                self.targets[slot] = self.targets[slot + 1]
                self.ages[slot] = self.ages[slot + 1]
