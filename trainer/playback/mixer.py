"""Render the next block: one loop, several versions, one read position."""

from __future__ import annotations

import numpy as np

from trainer.playback.glide import Glide, Samples
from trainer.playback.monitor import Monitor, number_way
from trainer.playback.notes import Bell, Notes
from trainer.playback.reel import SUB_BLOCK, VERSIONS_MAX, Order, Reel, check_version
from trainer.ports import Monitoring

SILENT, OPEN = 0, 1


class Mixer:
    """Mix the versions of a loop into blocks of any size, without a clock or a device.

    One side writes wishes (`load`, `play`, `pause`, `select`, `hear`, `strike`): each is one assignment. The other side
    calls `render`, which reads them once per block and neither locks nor allocates arrays. Versions of
    one excerpt are alike, so the fade between them is of equal gain. All gains start and end flat.
    """

    def __init__(self) -> None:
        self._wished: Order | None = None
        self._taken: Order | None = None
        self._serial = 0
        self._gate = Glide(SILENT, 1)
        self._version = Glide(0, 1)
        self._monitor = Monitor()
        self._bell = Bell()
        self._running = False
        self._want = 0
        self._faded_in = 0
        self._moving = np.zeros((SUB_BLOCK, 2), dtype=np.float32)
        self._level = np.zeros((SUB_BLOCK, 2), dtype=np.float32)
        self.frame = 0
        self.version = 0
        self.travelled = 0

    @property
    def order(self) -> Order | None:
        """Give the newest order, taken up already or not."""
        return self._wished

    @property
    def serial(self) -> int:
        """Give the serial number of the order that is rendered; 0 before the first."""
        return self._taken.serial if self._taken is not None else 0

    @property
    def sounding(self) -> bool:
        """Tell whether the blocks carry the loop, ramps included."""
        return not self._gate.rests_at(SILENT)

    @property
    def ringing(self) -> bool:
        """Tell whether the blocks carry notes."""
        return self._bell.ringing

    def load(self, reel: Reel, frame: int = 0, version: int = 0, running: bool = False) -> None:
        """Change to another reel: what sounds is ramped down first, within `render`.

        Parameters
        ----------
        reel : Reel
            What to play.
        frame : int >= 0
            Where to begin.
        version : int
            Which version to begin with.
        running : bool
            Whether to play at once.
        """
        check_version(reel, version)
        self._serial += 1
        self._wished = Order(reel, self._serial, frame, version, running)

    def play(self) -> None:
        """Run from the next block on."""
        if self._wished is not None:
            self._wished.running = True

    def pause(self) -> None:
        """Ramp down from the next block on, and keep the position."""
        if self._wished is not None:
            self._wished.running = False

    def select(self, version: int) -> None:
        """Fade to a version from the next block on."""
        if self._wished is not None:
            check_version(self._wished.reel, version)
            self._wished.select(version)

    def hear(self, how: Monitoring) -> None:
        """Glide to another way of hearing from the next block on; every reel begins as it is."""
        if self._wished is not None:
            self._wished.monitoring = number_way(how)

    def strike(self, notes: Notes) -> None:
        """Sound notes from the next block on, whether a loop runs or not."""
        self._bell.strike(notes)

    def render(self, block: Samples) -> None:
        """Fill a block of shape (frames, 2) with what comes next."""
        self._render_loop(block)
        self._bell.add(block)

    def _render_loop(self, block: Samples) -> None:
        """Fill a block with the loop, or with zeros."""
        wished = self._wished
        if wished is not self._taken and self._gate.rests_at(SILENT):
            self._take(wished)
        taken = self._taken
        if taken is None:
            block.fill(0.0)
            return
        if wished is taken:
            self._follow_version(taken)
            self._monitor.follow(taken.monitoring, self._gate.rests_at(SILENT))
        self._follow_running(wished is taken and taken.running)
        done = 0
        while done < len(block):
            done += self._render_part(taken.reel, block[done : done + SUB_BLOCK])

    def _take(self, order: Order | None) -> None:
        """Take a new order up, in silence."""
        self._taken = order
        if order is None:
            return
        self._want = want = order.want
        self.version = want % VERSIONS_MAX
        self.frame, self._faded_in, self._running = order.frame, 0, False
        length = len(order.reel.fade) - SUB_BLOCK
        self._gate.reset(SILENT, length)
        self._version.reset(self.version, length)
        self._monitor.reset(order.monitoring, length)

    def _follow_version(self, order: Order) -> None:
        """Begin a fade when a version was asked for, be it the present one; jump while nothing is heard."""
        want = order.want
        if want == self._want:
            return
        version = want % VERSIONS_MAX
        if self._gate.rests_at(SILENT):
            self._version.jump(version)
        elif not self._version.move(version):
            return
        self._want, self.version = want, version

    def _follow_running(self, running: bool) -> None:
        """Open or shut the gate; the first opening is left to the slower fade in."""
        if running == self._running:
            return
        if running and self._faded_in == 0:
            self._gate.jump(OPEN)
        elif not self._gate.move(OPEN if running else SILENT):
            return
        self._running = running

    def _render_part(self, reel: Reel, part: Samples) -> int:
        """Fill a part of at most SUB_BLOCK frames, up to the end of a ramp; give the frames filled."""
        if self._gate.rests_at(SILENT):
            part.fill(0.0)
            return len(part)
        if self._gate.count:
            part = part[: self._gate.frames_left()]
        frames = len(part)
        self._mix_versions(reel, part)
        self._monitor.apply(part, reel.fade)
        if self._gate.count:
            self._apply_gate(reel, part)
        if self._faded_in < len(reel.fade_in) - SUB_BLOCK:
            part *= reel.fade_in[self._faded_in : self._faded_in + frames]
            self._faded_in += frames
        self._gate.advance(frames)
        self._version.advance(frames)
        self.frame = (self.frame + frames) % reel.frames
        self.travelled += frames
        return frames

    def _mix_versions(self, reel: Reel, part: Samples) -> None:
        """Copy the settled version, and add every running move towards another."""
        frames, start, glide = len(part), self.frame, self._version
        stop, moving = start + frames, self._moving[:frames]
        origin = glide.settled
        part[:] = reel.taped[origin, start:stop]
        for slot in range(glide.count):
            target, age = glide.targets[slot], glide.ages[slot]
            np.subtract(reel.taped[target, start:stop], reel.taped[origin, start:stop], out=moving)
            moving *= reel.fade[age : age + frames]
            part += moving
            origin = target

    def _apply_gate(self, reel: Reel, part: Samples) -> None:
        """Multiply by the running moves of the gate between silence and sound."""
        frames, origin = len(part), self._gate.settled
        level = self._level[:frames]
        level.fill(origin)
        for slot in range(self._gate.count):
            target, age = self._gate.targets[slot], self._gate.ages[slot]
            if target > origin:
                level += reel.fade[age : age + frames]
            elif target < origin:
                level -= reel.fade[age : age + frames]
            origin = target
        part *= level
