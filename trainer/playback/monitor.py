"""Hear what plays in mono, its sides alone, left and right swapped, or quietly: a matrix that glides."""

from __future__ import annotations

import numpy as np

from trainer.playback.glide import Glide, Samples
from trainer.playback.reel import SUB_BLOCK
from trainer.ports import Channels, Monitoring
from trainer.units import db_to_gain

QUIET_DB = -20.0
# What the left one takes of left and right, then what the right one takes of them.
Matrix = tuple[float, float, float, float]
ROUTES: dict[Channels, Matrix] = {
    "stereo": (1.0, 0.0, 0.0, 1.0),
    "mono": (0.5, 0.5, 0.5, 0.5),
    "sides": (0.5, -0.5, 0.5, -0.5),
    "swapped": (0.0, 1.0, 1.0, 0.0),
}
WAYS = tuple(Monitoring(channels, quiet) for quiet in (False, True) for channels in ROUTES)


def number_way(how: Monitoring) -> int:
    """Give the place of a way of hearing in `WAYS`; 0 is the sound as it is."""
    return WAYS.index(how)


def find_matrix(how: Monitoring) -> Matrix:
    """Give what both channels take of left and right, as factors: left of left, left of right, right of left ..."""
    gain = db_to_gain(QUIET_DB) if how.quiet else 1.0
    a, b, c, d = ROUTES[how.channels]
    return gain * a, gain * b, gain * c, gain * d


_MATRICES = tuple(find_matrix(how) for how in WAYS)


def _subtract(one: Matrix, other: Matrix) -> Matrix:
    return one[0] - other[0], one[1] - other[1], one[2] - other[2], one[3] - other[3]


_STEPS = tuple(tuple(_subtract(target, origin) for target in _MATRICES) for origin in _MATRICES)


class Monitor:
    """Send both channels through the matrix of a way of hearing; from one to the next in 10 ms.

    No way is louder than the sound as it is. The factors of each row sum to 1 at most, signs left out, so
    ``|a l + b r| <= |a| |l| + |b| |r| <= max(|l|, |r|)``. Between the samples the same holds: the sound there is a
    linear function of the samples, so what a row makes of two channels is, at every instant, what it makes of the two
    sounds there, and no true peak passes the higher one of left and right. A glide is a weighted mean of two ways with
    weights of sum 1, whose rows keep to the same bound.
    """

    def __init__(self) -> None:
        self._glide = Glide(0, 1)
        self._want = 0
        self._dry = np.zeros((SUB_BLOCK, 2), dtype=np.float32)
        self._moving = np.zeros((SUB_BLOCK, 2), dtype=np.float32)
        self._other = np.zeros(SUB_BLOCK, dtype=np.float32)

    def reset(self, want: int, length: int) -> None:
        """Be at a way at once, with glides of so many frames from now on; only where nothing is heard."""
        self._want = want
        self._glide.reset(want, length)

    def follow(self, want: int, silent: bool) -> None:
        """Begin a glide when another way is wanted; jump while nothing is heard."""
        if want == self._want:
            return
        if silent:
            self._glide.jump(want)
        elif not self._glide.move(want):
            return
        self._want = want

    def apply(self, part: Samples, fade: Samples) -> None:
        """Change a part of at most SUB_BLOCK frames in its place, and let its time pass.

        Parameters
        ----------
        part : ndarray of float32, shape (frames, 2)
            The sound as it is; untouched, bit by bit, where it is heard as it is.
        fade : ndarray of float32, shape (glide + SUB_BLOCK, 2)
            The rise of a glide, followed by ones.
        """
        glide, frames = self._glide, len(part)
        if glide.rests_at(0):
            return
        dry, moving, origin = self._dry[:frames], self._moving[:frames], glide.settled
        dry[:] = part
        self._route(_MATRICES[origin], dry, part)
        for slot in range(glide.count):
            target, age = glide.targets[slot], glide.ages[slot]
            self._route(_STEPS[origin][target], dry, moving)
            moving *= fade[age : age + frames]
            part += moving
            origin = target
        glide.advance(frames)

    def _route(self, matrix: Matrix, dry: Samples, wet: Samples) -> None:
        """Send two channels through a matrix."""
        other = self._other[: len(dry)]
        for channel in (0, 1):
            np.multiply(dry[:, 0], matrix[2 * channel], out=wet[:, channel])
            np.multiply(dry[:, 1], matrix[2 * channel + 1], out=other)
            wet[:, channel] += other
