"""What an opened output must do, and how one is ended without waiting for ever."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Protocol

from trainer.playback.glide import Samples

CLOSE_LIMIT_S = 2.0


class Fill(Protocol):
    """Fill a block of shape (frames, 2) and be told of an underflow before it."""

    def __call__(self, block: Samples, underflow: bool = False) -> None:
        """Fill the block."""
        ...


class Stream(Protocol):
    """An output that is open and asks for blocks until it is closed."""

    @property
    def kind(self) -> str:
        """Name the kind of output, as in `trainer.ports.Output`."""
        ...

    @property
    def name(self) -> str:
        """Name the device for a person."""
        ...

    @property
    def rate_hz(self) -> int:
        """Give the rate at which blocks are asked for."""
        ...

    @property
    def latency_s(self) -> float:
        """Give the time from asking for a frame to hearing it."""
        ...

    @property
    def note(self) -> str:
        """Say in one line what a person should know; empty otherwise."""
        ...

    def alive(self) -> bool:
        """Tell whether the device is there, as far as the system says."""
        ...

    def close(self) -> bool:
        """End the stream at once, 2 s at most; False if it had to be abandoned."""
        ...


Opener = Callable[[int, Fill], Stream]
"""Open an output at a rate, or near it; raise `trainer.errors.NoSound` if that cannot be."""


def end_within(end: Callable[[], object], limit_s: float = CLOSE_LIMIT_S) -> bool:
    """Run something that may hang, in a thread of its own.

    Parameters
    ----------
    end : callable
        What to run; its errors are dropped, since the stream is gone either way.
    limit_s : float
        How long to wait.

    Returns
    -------
    bool
        Whether it came back in time. If not, the thread is left alone and ends with the program.
    """

    def run() -> None:
        try:
            end()
        except Exception:  # the stream is gone either way
            return

    thread = threading.Thread(target=run, name="end of a sound stream", daemon=True)
    thread.start()
    thread.join(limit_s)
    return not thread.is_alive()


def shorten(error: BaseException) -> str:
    """Put an error of a library in one short line."""
    line = " ".join(str(error).split()) or type(error).__name__
    return line if len(line) <= 100 else line[:97] + "..."
