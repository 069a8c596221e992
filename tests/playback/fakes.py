"""An output worked by hand, which misbehaves on request, and a clock that stands until it is moved."""

from __future__ import annotations

import threading

import numpy as np

from trainer.errors import NoSound
from trainer.playback.stream import Fill

from .signals import Samples


class HandClock:
    """A clock in seconds, moved by hand or by whoever waits."""

    def __init__(self) -> None:
        self.time_s = 1000.0

    def __call__(self) -> float:
        return self.time_s

    def sleep(self, time_s: float) -> None:
        """Move on."""
        self.time_s += time_s


class HandStream:
    """An output that asks for blocks when told to.

    Parameters
    ----------
    clock : HandClock
        Moved on by each block's length while pumping.
    rate_hz : int
        The rate it runs at, whatever was asked.
    kind : str
        As in `trainer.ports.Output`.
    """

    note = ""
    latency_s = 0.1

    def __init__(self, clock: HandClock, rate_hz: int, fill: Fill, kind: str = "portaudio") -> None:
        self.clock, self.rate_hz, self.kind, self.name = clock, rate_hz, kind, f"fake {kind}"
        self._fill = fill
        self.there = True
        self.hangs = False
        self.closed = 0
        self.release = threading.Event()

    def alive(self) -> bool:
        """Tell what was set."""
        return self.there

    def close(self) -> bool:
        """Count, and hang if so set."""
        self.closed += 1
        if self.hangs:
            self.release.wait(10.0)
        return not self.hangs

    def pump(self, time_s: float, block: int = 256, underflow: bool = False) -> Samples:
        """Ask for blocks, evenly in time; give what came."""
        parts = []
        for _ in range(max(1, round(time_s * self.rate_hz / block))):
            sound = np.full((block, 2), np.nan, dtype=np.float32)
            self._fill(sound, underflow)
            self.clock.sleep(block / self.rate_hz)
            parts.append(sound)
        return np.concatenate(parts)

    def ask_for(self, block: object) -> None:
        """Ask for something that is no block."""
        self._fill(block)  # type: ignore[arg-type]


class HandOutput:
    """Open `HandStream`s, one after the other, or refuse.

    Parameters
    ----------
    clock : HandClock
        For the streams.
    kind : str
        Their kind.
    only_hz : int
        The one rate it runs at; 0 for any.
    """

    def __init__(self, clock: HandClock, kind: str = "portaudio", only_hz: int = 0) -> None:
        self.clock, self.kind, self.only_hz = clock, kind, only_hz
        self.refuses = False
        self.streams: list[HandStream] = []

    def __call__(self, rate_hz: int, fill: Fill) -> HandStream:
        if self.refuses:
            raise NoSound(f"{self.kind}: refused")
        self.streams.append(HandStream(self.clock, self.only_hz or rate_hz, fill, self.kind))
        return self.streams[-1]

    @property
    def stream(self) -> HandStream:
        """Give the newest stream."""
        return self.streams[-1]
