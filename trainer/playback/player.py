"""The player that the program holds: it goes from one output to the next when one is lost."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Protocol

from trainer.errors import NoSound
from trainer.playback.glide import Samples
from trainer.playback.process import settle_memory
from trainer.playback.reel import Reel, make_reel
from trainer.playback.silent import ADVICE, SilentPlayer
from trainer.ports import UNCHANGED, Monitoring, Output, Player, Playhead


class Part(Player, Protocol):
    """A player on one output, which the chain can cue and leave."""

    def cue(self, reel: Reel, head: Playhead) -> None:
        """Take a reel, at a place and running or not."""
        ...

    def find_loss(self) -> str:
        """Give the reason if the output is lost, else nothing."""
        ...

    def give_up(self) -> None:
        """Leave a lost output without waiting for it."""
        ...


LOADS_A_WHOLE = 40
"""After so many loads all of the memory is looked through, not only what is new."""
Maker = Callable[[int], Part]
"""Open a player at a rate; raise `trainer.errors.NoSound` if that cannot be."""


class ChainPlayer:
    """Play on the first output that opens, and on the next when that one is lost.

    Parameters
    ----------
    makers : sequence of callable
        Open the outputs, best first.
    rate_hz : int
        The rate to open at.
    make_silent : callable
        Makes the last resort, which always works.
    """

    def __init__(
        self,
        makers: Sequence[Maker],
        rate_hz: int,
        make_silent: Callable[[int], Part] = SilentPlayer,
    ) -> None:
        self._makers, self._make_silent = list(makers), make_silent
        self._rate_hz = rate_hz
        self._reel: Reel | None = None
        self._how = UNCHANGED
        self._loads = 0
        self._interruptions = 0
        self._missing: list[str] = []
        self._closed = False
        self._part = self._open_next()
        self._note = self._word_start()

    @property
    def output(self) -> Output:
        """Tell where sound goes now, and what is unusual about it."""
        output = self._part.output
        if not self._note:
            return output
        return replace(output, note=self._note if output.silent else f"{self._note} {output.note}".strip())

    def load(self, versions: Samples, rate_hz: int) -> None:
        """Take versions, paused at frame 0 with version 0 selected."""
        self._reel, self._rate_hz, self._how = make_reel(versions, rate_hz), rate_hz, UNCHANGED
        if self._closed:
            return
        self._cue(Playhead(0, 0, False))
        self._loads += 1
        settle_memory(whole=self._loads % LOADS_A_WHOLE == 0)

    def play(self) -> None:
        """Start or go on, with a ramp; the first start after a load fades in more slowly."""
        if not self._closed:
            self._part.play()

    def pause(self) -> None:
        """Stop with a ramp; the position is kept."""
        self._part.pause()

    def select(self, version: int) -> None:
        """Fade to a version in 10 ms without moving the position."""
        self._part.select(version)

    def hear(self, how: Monitoring) -> None:
        """Glide to another way of hearing, kept until the next load, whatever output is lost."""
        self._how = how
        self._part.hear(how)

    def sound_notes(self, notes_hz: Sequence[float]) -> None:
        """Sound short soft notes over whatever plays."""
        if not self._closed:
            self._part.sound_notes(notes_hz)

    def position(self) -> Playhead:
        """Tell what is heard now; a lost output is noticed here."""
        head = self._part.position()
        loss = "" if self._closed else self._part.find_loss()
        if not loss:
            return head
        self._move_on(head, loss)
        return self._part.position()

    def take_interruptions(self) -> int:
        """Give the number of gaps in the sound since the last call; a lost output is one."""
        fresh, self._interruptions = self._interruptions + self._part.take_interruptions(), 0
        return fresh

    def close(self) -> None:
        """Ramp down and let the output go."""
        if not self._closed:
            self._closed = True
            self._part.close()

    def _open_next(self) -> Part:
        """Open the next output that works, the silent one in the end."""
        while self._makers:
            maker = self._makers.pop(0)
            try:
                return maker(self._rate_hz)
            except NoSound as error:
                self._missing.append(str(error))
        return self._make_silent(self._rate_hz)

    def _cue(self, head: Playhead) -> None:
        """Give the reel to an output, the next one if this one cannot be opened at its rate."""
        if self._reel is None:
            return
        try:
            self._part.cue(self._reel, head)
            self._part.hear(self._how)
        except NoSound as error:
            self._move_on(head, str(error))

    def _move_on(self, head: Playhead, loss: str) -> None:
        """Leave a lost output for the next, with what was loaded and where it was."""
        lost = self._part
        self._interruptions += lost.take_interruptions() + int(head.playing)
        self._missing = []
        lost.give_up()
        self._part = self._open_next()
        self._note = self._word_loss(lost.output.name, loss)
        self._cue(head)

    def _word_start(self) -> str:
        """Say what was missing before the output that opened."""
        missing, output = "; ".join(self._missing), self._part.output
        if not missing:
            return ""
        if output.silent:
            return f"No sound output was found ({missing}): sound is off. {ADVICE}"
        return f"{missing}. Sound goes through {_NAMES[output.kind]} instead."

    def _word_loss(self, name: str, loss: str) -> str:
        """Say that an output was lost, and where sound goes now."""
        reasons = "; ".join([loss, *self._missing])
        if self._part.output.silent:
            return f"The output “{name}” was lost ({reasons}): sound is off. {ADVICE}"
        now = _NAMES[self._part.output.kind]
        return f"The output “{name}” was lost ({reasons}). Sound goes through {now} now."


_NAMES = {"portaudio": "PortAudio", "sdl": "SDL"}
