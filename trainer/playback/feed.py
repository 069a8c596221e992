"""Answer a device that asks for the next block: the callback of every output."""

from __future__ import annotations

import math
from typing import Protocol

from trainer.playback.glide import Samples
from trainer.playback.mixer import Mixer
from trainer.playback.trace import Trace


class Now(Protocol):
    """Tell a time in seconds that never goes back."""

    def __call__(self) -> float:
        """Give the time."""
        ...


class Feed:
    """Fill blocks from a mixer, whatever happens, and count what went wrong.

    Parameters
    ----------
    mixer : Mixer
        Renders the blocks.
    now : callable
        A monotonic clock in seconds.
    """

    def __init__(self, mixer: Mixer, now: Now) -> None:
        self._mixer, self._now = mixer, now
        self._last_s = -math.inf
        self.trace = Trace()
        self.calls = 0
        self.gaps = 0
        self.fault: BaseException | None = None
        self._muted = False
        self.patience_s = math.inf
        """A longer pause between two blocks than this has emptied the device's buffer."""

    def mute(self) -> None:
        """Give nothing but zeros from now on."""
        self._muted = True

    def fill(self, block: Samples, underflow: bool = False) -> None:
        """Fill a block of shape (frames, 2); called by the device's own thread.

        Parameters
        ----------
        block : ndarray of float32, shape (frames, 2)
            Filled with sound, or with zeros if rendering fails.
        underflow : bool
            Whether the device says that it ran out of sound before.
        """
        try:
            self._fill(block, underflow)
        except BaseException as fault:  # nothing may escape into the device's thread
            self.fault = fault
            self.gaps += 1
            _hush(block)
        self.calls += 1

    def _fill(self, block: Samples, underflow: bool) -> None:
        """Render, write down, and count a gap if sound was due before this block."""
        if self._muted:
            block.fill(0.0)
            return
        mixer, now_s = self._mixer, self._now()
        if mixer.sounding and (underflow or now_s - self._last_s > self.patience_s):
            self.gaps += 1
        self._last_s = now_s
        frame, travelled, serial = mixer.frame, mixer.travelled, mixer.serial
        mixer.render(block)
        if mixer.serial != serial and mixer.order is not None:
            frame = mixer.order.frame
        self.trace.note(now_s, len(block), mixer.serial, frame, mixer.travelled - travelled, mixer.version)


def _hush(block: Samples) -> None:
    """Fill a block with zeros, if it can be filled at all."""
    try:
        block.fill(0.0)
    except BaseException:  # nothing may escape into the device's thread
        return
