"""A loop in several versions, laid out for the mixer, and the order to play it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.errors import BadValue
from trainer.playback.glide import Samples, draw_rise

SUB_BLOCK = 240
"""Frames mixed at a time: above 500 elements numpy lets other threads in, and may wait for its turn."""

FADE_MS = 10.0
FADE_IN_MS = 300.0
VERSIONS_MAX = 256


@dataclass(frozen=True)
class Reel:
    """Hold the versions of one loop, never changed once made.

    Parameters
    ----------
    rate_hz : int
        Frames per second.
    frames : int
        Length of the loop.
    taped : ndarray of float32, shape (versions, frames + SUB_BLOCK, 2)
        The versions, each with its head copied behind its tail: no block is split at the seam.
    fade : ndarray of float32, shape (fade + SUB_BLOCK, 2)
        The rise of a switch or a pause, 10 ms, followed by ones.
    fade_in : ndarray of float32, shape (fade in + SUB_BLOCK, 2)
        The rise of the first start, 300 ms, followed by ones.
    """

    rate_hz: int
    frames: int
    taped: Samples
    fade: Samples
    fade_in: Samples

    @property
    def count(self) -> int:
        """Give the number of versions."""
        return int(self.taped.shape[0])

    @property
    def versions(self) -> Samples:
        """Give the versions without the copied head, shape (versions, frames, 2)."""
        return self.taped[:, : self.frames]


class Order:
    """Say what is wanted of one reel: written by the program, read once per block by the mixer.

    Each reel has an order of its own, so a late wish for one reel never reaches the next.

    Parameters
    ----------
    reel : Reel
        What to play.
    serial : int
        Tells this order from the ones before.
    frame : int
        Where to begin.
    version : int
        Which version to begin with.
    running : bool
        Whether to play at once.

    Which way it is heard, `monitoring`, is a place in `trainer.playback.monitor.WAYS`; it begins as it is.
    """

    __slots__ = ("frame", "monitoring", "reel", "running", "serial", "want")

    def __init__(self, reel: Reel, serial: int, frame: int = 0, version: int = 0, running: bool = False) -> None:
        self.reel, self.serial = reel, serial
        self.frame = frame % reel.frames
        self.running = running
        self.want = version
        self.monitoring = 0

    @property
    def version(self) -> int:
        """Give the version wanted."""
        return self.want % VERSIONS_MAX

    def select(self, version: int) -> None:
        """Want a version; each call gives a new number, so wanting the present one looks no different."""
        self.want = (self.want // VERSIONS_MAX + 1) * VERSIONS_MAX + version


def make_reel(versions: Samples, rate_hz: int) -> Reel:
    """Lay versions out for the mixer; they are copied.

    Parameters
    ----------
    versions : ndarray, shape (versions, frames, 2)
        1 to 256 versions of one loop.
    rate_hz : int > 0
        Frames per second.

    Returns
    -------
    Reel
        The versions with their seam, and the fades at this rate.

    Raises
    ------
    BadValue
        If the shape or the rate cannot be played.
    """
    if versions.ndim != 3 or versions.shape[2] != 2 or 0 in versions.shape or len(versions) > VERSIONS_MAX:
        raise BadValue("player", "versions", versions.shape, "1 to 256 versions, 1 frame or more, 2 channels")
    if rate_hz <= 0:
        raise BadValue("player", "rate_hz", rate_hz, "a rate above 0")
    count, frames = versions.shape[:2]
    taped = np.empty((count, frames + SUB_BLOCK, 2), dtype=np.float32)
    taped[:, :frames] = versions
    for start in range(frames, frames + SUB_BLOCK, frames):
        stop = min(start + frames, frames + SUB_BLOCK)
        taped[:, start:stop] = taped[:, : stop - start]
    taped.flags.writeable = False
    return Reel(rate_hz, frames, taped, _draw(FADE_MS, rate_hz), _draw(FADE_IN_MS, rate_hz))


def check_version(reel: Reel, version: int) -> None:
    """Refuse a version that a reel does not hold, with `trainer.errors.BadValue`."""
    if not 0 <= version < reel.count:
        raise BadValue("player", "version", version, f"0 to {reel.count - 1}")


def _draw(length_ms: float, rate_hz: int) -> Samples:
    """Draw a rise of so many milliseconds that a sub-block may overrun."""
    return draw_rise(max(1, round(length_ms * rate_hz / 1000.0)), SUB_BLOCK)
