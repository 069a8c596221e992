"""The player on outputs that lag, stall, vanish, hang, refuse or ask for nonsense."""

from __future__ import annotations

import time

import numpy as np
import pytest

from trainer.playback.player import ChainPlayer, Maker
from trainer.playback.silent import SilentPlayer
from trainer.playback.streamed import StreamPlayer
from trainer.ports import Playhead

from .fakes import HandClock, HandOutput
from .signals import Samples, count_jumps, make_counting, read_frames

RATE_HZ = 48000
LENGTH = 30000


class Desk:
    """A chain of two outputs worked by hand, and silence after them."""

    def __init__(self, first_hz: int = 0, second_hz: int = 0) -> None:
        self.clock = HandClock()
        self.first = HandOutput(self.clock, "portaudio", first_hz)
        self.second = HandOutput(self.clock, "sdl", second_hz)
        self.waited: list[Samples] = []

    def wait(self, time_s: float) -> None:
        """Let time pass, in which the first output asks for blocks."""
        if self.first.streams:
            self.waited.append(self.first.stream.pump(time_s))
        else:
            self.clock.sleep(time_s)

    def open(self, rate_hz: int = RATE_HZ) -> ChainPlayer:
        """Open the chain."""

        def make(output: HandOutput) -> Maker:
            return lambda rate: StreamPlayer(output, rate, self.clock, self.wait)

        def make_silent(rate: int) -> SilentPlayer:
            return SilentPlayer(rate, now=self.clock)

        return ChainPlayer([make(self.first), make(self.second)], rate_hz, make_silent)


def test_a_new_load_is_paused_at_its_head() -> None:
    """Right after a load, whatever played before, the head is at frame 0 of version 0 and stands."""
    desk = Desk()
    player = desk.open()
    assert player.position() == Playhead(0, 0, False)
    for _ in range(2):
        player.load(make_counting(2, LENGTH), RATE_HZ)
        assert player.position() == Playhead(0, 0, False)
        player.select(1)
        player.play()
        desk.first.stream.pump(0.4)
        assert player.position().frame > 0


def test_the_head_is_what_is_heard_a_latency_later() -> None:
    """With 100 ms of latency the frame told is the one asked for 100 ms ago, by the signal's own numbers."""
    desk = Desk()
    player = desk.open()
    player.load(make_counting(2, LENGTH), RATE_HZ)
    player.play()
    sound = desk.first.stream.pump(1.3)
    told = player.position()
    heard = sound[len(sound) - round(0.1 * RATE_HZ)]
    assert told.playing
    assert told.frame == pytest.approx(read_frames(heard[np.newaxis])[0], abs=1)
    player.select(1)
    desk.first.stream.pump(0.05)
    assert player.position().version == 0
    desk.first.stream.pump(0.06)
    assert player.position().version == 1


def test_the_head_moves_evenly_though_blocks_come_in_bursts() -> None:
    """Blocks come six at a time; the head moves at the rate all the same, within 2 ms, and not back."""
    desk = Desk()
    player = desk.open()
    player.load(make_counting(1, 400000), RATE_HZ)
    player.play()
    stream, clock = desk.first.stream, desk.clock
    started_s, told = clock(), []
    for burst in range(60):
        clock.time_s = started_s + burst * 6 * 256 / RATE_HZ
        for index in range(6):
            before_s = clock()
            stream.pump(256 / RATE_HZ)
            clock.time_s = before_s + 0.00006
            if index == 2:
                told.append((clock(), player.position().frame))
        for _ in range(5):
            clock.time_s += 0.005
            told.append((clock(), player.position().frame))
    times = np.array([entry[0] for entry in told if entry[0] > started_s + 0.7])
    frames = np.array([entry[1] for entry in told if entry[0] > started_s + 0.7])
    assert np.diff(frames).min() >= 0
    away = frames - frames[0] - (times - times[0]) * RATE_HZ
    assert np.abs(away).max() < 0.002 * RATE_HZ


def test_pause_keeps_the_head() -> None:
    """Long after a pause the head stands where the sound stopped."""
    desk = Desk()
    player = desk.open()
    player.load(make_counting(1, LENGTH), RATE_HZ)
    player.play()
    desk.first.stream.pump(0.5)
    player.pause()
    sound = desk.first.stream.pump(1.0)
    standing = player.position()
    last = np.flatnonzero(sound[:, 0])[-1]
    assert not standing.playing
    assert standing.frame == round(0.5 * RATE_HZ / 256) * 256 + last + 1
    desk.first.stream.pump(1.0)
    assert player.position() == standing


def test_a_standing_output_is_left_for_the_next_with_position_and_version() -> None:
    """No block for 0.5 s: the next output goes on with the version, near the frame, and says so."""
    desk = Desk()
    player = desk.open()
    player.load(make_counting(3, LENGTH), RATE_HZ)
    player.select(2)
    player.play()
    desk.first.stream.pump(0.5)
    before = player.position()
    for _ in range(12):
        desk.clock.sleep(0.05)
        player.position()
    assert player.output.kind == "sdl"
    assert "fake portaudio" in player.output.note
    assert "SDL" in player.output.note
    sound = desk.second.stream.pump(0.6)
    frames = read_frames(sound[-8000:])
    assert count_jumps(frames, LENGTH) == 0
    begin = (frames[0] - (len(sound) - 8000)) % LENGTH
    assert 0 <= begin - before.frame <= 0.101 * RATE_HZ
    assert np.all(sound[-8000:, 1] == 3 / 16)
    assert player.take_interruptions() == 1
    assert player.take_interruptions() == 0


def test_a_slow_look_or_a_sleeping_computer_is_no_loss() -> None:
    """One look after ten seconds without a block does not condemn the output; blocks that come absolve it."""
    desk = Desk()
    player = desk.open()
    desk.first.stream.pump(0.1)
    player.position()
    desk.clock.sleep(10.0)
    player.position()
    desk.first.stream.pump(0.1)
    player.position()
    assert player.output.kind == "portaudio"


@pytest.mark.parametrize("nonsense", [None, np.zeros((2, 256, 3), np.float32), np.zeros(256, np.int16)])
def test_nonsense_from_a_device_does_not_raise_in_its_thread(nonsense: object) -> None:
    """A block that cannot be filled is swallowed, counted, and the output left."""
    desk = Desk()
    player = desk.open()
    player.load(make_counting(1, LENGTH), RATE_HZ)
    player.play()
    desk.first.stream.pump(0.1)
    desk.first.stream.ask_for(nonsense)
    player.position()
    assert player.output.kind == "sdl"
    assert player.take_interruptions() >= 1


def test_an_output_that_vanishes_and_hangs_does_not_hold_the_program() -> None:
    """Both outputs vanish and hang when closed: in a second the player is silent, says why, and goes on."""
    desk = Desk()
    player = desk.open()
    player.load(make_counting(2, LENGTH), RATE_HZ)
    player.play()
    began_s = time.monotonic()
    for output in (desk.first, desk.second):
        output.stream.pump(0.3)
        output.stream.hangs, output.stream.there = True, False
        player.position()
    assert time.monotonic() - began_s < 1.0
    output_now = player.output
    assert output_now.silent
    assert "lost" in output_now.note
    assert "evenhand doctor" in output_now.note
    assert "\n" not in output_now.note
    before = player.position()
    desk.clock.sleep(0.1)
    after = player.position()
    assert (after.frame - before.frame) % LENGTH == pytest.approx(0.1 * RATE_HZ, abs=1)
    for output in (desk.first, desk.second):
        assert not output.stream.pump(0.1).any()
        output.stream.release.set()


def test_an_output_that_refuses_is_named() -> None:
    """The note tells what was missing, in one line."""
    desk = Desk()
    desk.first.refuses = True
    player = desk.open()
    assert player.output.kind == "sdl"
    assert player.output.note == "portaudio: refused. Sound goes through SDL instead."


def test_underflows_and_late_blocks_count_while_sound_is_due() -> None:
    """A flag counts once; so does a wait of 0.3 s; silence and a usual wait count nothing."""
    desk = Desk()
    player = desk.open()
    stream = desk.first.stream
    stream.pump(0.05, underflow=True)
    player.load(make_counting(1, LENGTH), RATE_HZ)
    player.play()
    stream.pump(0.3)
    assert player.take_interruptions() == 0
    stream.pump(256 / RATE_HZ, underflow=True)
    stream.pump(0.05)
    desk.clock.sleep(0.3)
    stream.pump(0.05)
    desk.clock.sleep(0.1)
    stream.pump(0.05)
    assert player.take_interruptions() == 2
    assert player.take_interruptions() == 0


def test_another_rate_opens_the_output_again() -> None:
    """Versions at 44.1 kHz are played at 44.1 kHz; the old stream is closed after its ramp."""
    desk = Desk()
    player = desk.open(48000)
    first = desk.first.stream
    player.load(make_counting(1, LENGTH), 44100)
    assert first.closed == 1
    assert player.output.rate_hz == 44100
    player.load(make_counting(1, LENGTH), 44100)
    assert len(desk.first.streams) == 2


def test_an_output_with_one_rate_gets_converted_versions() -> None:
    """A loop of 441 frames at 44.1 kHz lasts 480 at 48 kHz; the head is told in frames of the loop loaded."""
    desk = Desk(first_hz=48000)
    player = desk.open(44100)
    loop = np.sin(2 * np.pi * 5 * np.arange(441) / 441)[np.newaxis, :, np.newaxis]
    player.load(np.repeat(loop, 2, axis=2).astype(np.float32), 44100)
    player.play()
    sound = desk.first.stream.pump(0.6)
    begin = len(sound) - 4800
    expected = np.sin(2 * np.pi * 5 * (np.arange(begin, len(sound)) % 480) / 480)
    np.testing.assert_allclose(sound[begin:, 0], expected, atol=1e-5)
    heard = len(sound) - round(0.1 * 48000)
    assert player.position().frame == pytest.approx((heard % 480) * 441 / 480, abs=2)


def test_closing_twice_ramps_once_and_closes_once() -> None:
    """The last blocks fall to zero without a step; the stream is closed once; later calls do nothing."""
    desk = Desk()
    player = desk.open()
    player.load(np.ones((1, 999, 2), dtype=np.float32), RATE_HZ)
    player.play()
    stream = desk.first.stream
    stream.pump(0.5)
    desk.waited.clear()
    player.close()
    player.close()
    ramp = np.concatenate(desk.waited)[:, 0]
    assert ramp[-1] == 0.0
    assert np.abs(np.diff(ramp)).max() <= np.pi / (2 * 480) + 1e-6
    assert stream.closed == 1
    player.play()
    player.position()
    player.load(np.ones((1, 999, 2), dtype=np.float32), RATE_HZ)
