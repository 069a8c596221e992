"""A player that nobody hears: it keeps the position by a clock."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

from trainer.playback.feed import Now
from trainer.playback.glide import Samples
from trainer.playback.reel import Reel, check_version, make_reel
from trainer.ports import Monitoring, Output, Playhead

KIND = "silent"
ADVICE = "Plug in an output and restart, or run evenhand doctor in a terminal."
NO_OUTPUT = f"No sound output was found: sound is off. {ADVICE}"


class SilentPlayer:
    """Play without sound, as `trainer.ports.Player` asks.

    Parameters
    ----------
    rate_hz : int
        The rate until something is loaded.
    note : str
        One line for the screen.
    now : callable
        A monotonic clock in seconds.
    """

    def __init__(self, rate_hz: int, note: str = NO_OUTPUT, now: Now = time.monotonic) -> None:
        self._now = now
        self._output = Output(KIND, "no output", rate_hz, 0.0, note)
        self._reel: Reel | None = None
        self._head = Playhead(0, 0, False)
        self._since_s = 0.0

    @property
    def output(self) -> Output:
        """Tell that nothing is heard, and why."""
        return self._output

    def load(self, versions: Samples, rate_hz: int) -> None:
        """Take versions, paused at frame 0 with version 0 selected."""
        self.cue(make_reel(versions, rate_hz), Playhead(0, 0, False))

    def cue(self, reel: Reel, head: Playhead) -> None:
        """Take a reel, at a place and running or not."""
        self._reel, self._head, self._since_s = reel, head, self._now()
        self._output = replace(self._output, rate_hz=reel.rate_hz)

    def play(self) -> None:
        """Let the clock run."""
        self._set(playing=self._reel is not None)

    def pause(self) -> None:
        """Stop the clock; the position is kept."""
        self._set(playing=False)

    def select(self, version: int) -> None:
        """Change the version told by `position`."""
        if self._reel is not None:
            check_version(self._reel, version)
            self._head = replace(self._head, version=version)

    def hear(self, how: Monitoring) -> None:
        """Change nothing: it is silent in every way."""

    def sound_notes(self, notes_hz: Sequence[float]) -> None:
        """Sound nothing."""

    def position(self) -> Playhead:
        """Tell where the loop would be."""
        if self._reel is None or not self._head.playing:
            return self._head
        passed = (self._now() - self._since_s) * self._reel.rate_hz
        return replace(self._head, frame=int(self._head.frame + passed) % self._reel.frames)

    def take_interruptions(self) -> int:
        """Give 0: what is not heard is not interrupted."""
        return 0

    def find_loss(self) -> str:
        """Give an empty reason: a clock is never lost."""
        return ""

    def give_up(self) -> None:
        """Do as `close`."""
        self.close()

    def close(self) -> None:
        """Stop the clock."""
        self.pause()

    def _set(self, playing: bool) -> None:
        """Fix the position now, and go on from it."""
        self._head = replace(self.position(), playing=playing)
        self._since_s = self._now()
