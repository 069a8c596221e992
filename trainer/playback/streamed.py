"""A player on one opened output."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence

from trainer.playback.feed import Feed, Now
from trainer.playback.glide import Samples
from trainer.playback.mixer import Mixer
from trainer.playback.notes import draw_notes
from trainer.playback.rate import convert_reel
from trainer.playback.reel import Reel, make_reel
from trainer.playback.stream import Opener, end_within, shorten
from trainer.ports import Monitoring, Output, Playhead

STALL_S = 0.5
STALL_LATENCIES = 4.0
LOOK_S = 0.25
"""Longest time that one look at a standing device counts for: a computer that slept is not a lost device."""

GAP_LATENCIES = 1.5
START_LATENCIES = 2.0
DRAIN_LATENCIES = 1.25
FADE_LIMIT_S = 0.5
LOST_LIMIT_S = 0.3


class StreamPlayer:
    """Play on one output, as `trainer.ports.Player` asks; it may be lost.

    Parameters
    ----------
    opener : callable
        Opens the output; raises `trainer.errors.NoSound`.
    rate_hz : int
        The rate to open at; a load at another rate opens the output again.
    now : callable
        A monotonic clock in seconds.
    sleep : callable
        Waits for so many seconds.
    """

    def __init__(
        self,
        opener: Opener,
        rate_hz: int,
        now: Now = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._opener, self._now, self._sleep = opener, now, sleep
        self._reel: Reel | None = None
        self._taken_gaps = 0
        self._closed = False
        self._open(rate_hz)

    def _open(self, rate_hz: int) -> None:
        """Open the output and give it a mixer of its own."""
        self._mixer = Mixer()
        self._feed = Feed(self._mixer, self._now)
        self._asked_hz = rate_hz
        self._stream = self._opener(rate_hz, self._feed.fill)
        self._feed.patience_s = GAP_LATENCIES * max(self._stream.latency_s, 0.02)
        # A system's own buffer often runs dry once while a stream starts; let that pass in silence.
        self._sleep(START_LATENCIES * self._stream.latency_s)
        self._calls, self._looked_s, self._stalled_s = -1, self._now(), 0.0
        self._place = -math.inf
        self._scale = 1.0

    @property
    def output(self) -> Output:
        """Tell where sound goes."""
        stream = self._stream
        return Output(stream.kind, stream.name, stream.rate_hz, stream.latency_s, stream.note)

    def load(self, versions: Samples, rate_hz: int) -> None:
        """Take versions, paused at frame 0 with version 0 selected."""
        self.cue(make_reel(versions, rate_hz), Playhead(0, 0, False))

    def cue(self, reel: Reel, head: Playhead) -> None:
        """Take a reel, at a place and running or not."""
        if self._closed:
            return
        if reel.rate_hz != self._asked_hz:
            self._reopen(reel.rate_hz)
        rate_hz = self._stream.rate_hz
        played = reel if reel.rate_hz == rate_hz else convert_reel(reel, rate_hz)
        self._reel, self._scale = reel, reel.frames / played.frames
        frame = int(head.frame / self._scale)
        self._mixer.load(played, frame, head.version, head.playing)

    def play(self) -> None:
        """Start or go on, with a ramp."""
        self._mixer.play()

    def pause(self) -> None:
        """Stop with a ramp; the position is kept."""
        self._mixer.pause()

    def select(self, version: int) -> None:
        """Fade to a version."""
        self._mixer.select(version)

    def hear(self, how: Monitoring) -> None:
        """Glide to another way of hearing."""
        self._mixer.hear(how)

    def sound_notes(self, notes_hz: Sequence[float]) -> None:
        """Sound notes, drawn for the rate of the output."""
        self._mixer.strike(draw_notes(notes_hz, self._stream.rate_hz))

    def position(self) -> Playhead:
        """Tell what is heard now; whether it runs is told as asked, without the latency."""
        order = self._mixer.order
        if order is None or self._reel is None:
            return Playhead(0, 0, False)
        stream = self._stream
        heard = self._feed.trace.read(self._now(), stream.latency_s, stream.rate_hz, order.serial, self._place)
        if heard is None:
            return Playhead(self._to_loaded(order.frame), order.version, order.running)
        self._place = heard.written
        return Playhead(self._to_loaded(heard.frame), heard.version, order.running)

    def _to_loaded(self, frame: int) -> int:
        """Turn a frame of the played loop into one of the loaded loop."""
        return int(frame * self._scale) % self._reel.frames if self._reel is not None else 0

    def take_interruptions(self) -> int:
        """Give the gaps since the last call."""
        gaps = self._feed.gaps
        fresh, self._taken_gaps = gaps - self._taken_gaps, gaps
        return fresh

    def find_loss(self) -> str:
        """Look whether the output is still there; give the reason if it is lost, else nothing.

        It is lost when the system says so, when filling a block failed, or when no block has been
        asked for during the larger of 0.5 s and four latencies.
        """
        if self._closed:
            return ""
        if self._feed.fault is not None:
            return f"filling it failed: {shorten(self._feed.fault)}"
        if not self._stream.alive():
            return "it is gone"
        now_s, calls = self._now(), self._feed.calls
        looked_s, self._looked_s = self._looked_s, now_s
        if calls != self._calls:
            self._calls, self._stalled_s = calls, 0.0
            return ""
        self._stalled_s += min(now_s - looked_s, LOOK_S)
        limit_s = max(STALL_S, STALL_LATENCIES * self._stream.latency_s)
        return "it stands still" if self._stalled_s > limit_s else ""

    def give_up(self) -> None:
        """Leave a lost output: nothing more is heard of it, even if it comes back."""
        self._closed = True
        self._feed.mute()
        end_within(self._stream.close, LOST_LIMIT_S)

    def close(self) -> None:
        """Ramp down and let the output go."""
        if self._closed:
            return
        self._closed = True
        self._fade_down()
        self._stream.close()

    def _reopen(self, rate_hz: int) -> None:
        """Close the stream after a ramp, and open it at another rate."""
        gaps = self._feed.gaps
        self._fade_down()
        self._stream.close()
        self._open(rate_hz)
        self._feed.gaps = gaps

    def _fade_down(self) -> None:
        """Pause, and wait until the ramp has been written and heard."""
        self._mixer.pause()
        end_s = self._now() + FADE_LIMIT_S
        while (self._mixer.sounding or self._mixer.ringing) and self._now() < end_s and self._stream.alive():
            self._sleep(0.005)
        if self._mixer.travelled and self._stream.alive():
            self._sleep(DRAIN_LATENCIES * self._stream.latency_s)
