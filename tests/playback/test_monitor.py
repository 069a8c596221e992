"""Ways of hearing against closed forms, calculus, and a meter of true peak; the bound of each is in its docstring."""

from __future__ import annotations

import math

import numpy as np
import pyebur128
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.playback.glide import SLOTS
from trainer.playback.mixer import Mixer
from trainer.playback.monitor import ROUTES, WAYS
from trainer.playback.reel import SUB_BLOCK, make_reel
from trainer.playback.silent import SilentPlayer
from trainer.playback.streamed import StreamPlayer
from trainer.ports import UNCHANGED, Channels, Monitoring, Player

from .fakes import HandClock, HandOutput
from .signals import Samples, bound_faded_sine, draw_cosine, make_music, second_difference
from .test_mixer import BLOCK, FADE, RATE_HZ, render, start
from .test_player import Desk

LENGTH = 4800


def make_stereo(frames: int = LENGTH) -> Samples:
    """Make one version of noise that differs from left to right, within ±1."""
    return np.random.default_rng(8).uniform(-1, 1, (1, frames, 2)).astype(np.float32)


def hear(versions: Samples, how: Monitoring, frames: int = LENGTH) -> tuple[Samples, Samples]:
    """Render a loop in a way of hearing, the glide passed; gives the same stretch as it is beside it."""
    mixer = start(versions)
    mixer.hear(how)
    render(mixer, 2 * FADE)
    first = mixer.frame
    heard = render(mixer, frames)
    plain = versions[0, (first + np.arange(frames)) % versions.shape[1]]
    return heard, plain


def test_as_it_is_not_one_bit_changes() -> None:
    """Back from each way of hearing, the sound is the loop itself."""
    versions = make_stereo()
    mixer = start(versions)
    for how in WAYS:
        mixer.hear(how)
        render(mixer, 2 * FADE)
        mixer.hear(UNCHANGED)
        render(mixer, 2 * FADE)
        first = mixer.frame
        heard = render(mixer, 1000)
        assert np.array_equal(heard, versions[0, (first + np.arange(1000)) % LENGTH])


def test_mono_of_equal_channels_is_the_identity_glide_included() -> None:
    """(x + x) / 2 = x, exactly, as halves are exact in binary; so the glide cannot be heard either."""
    music = make_music(RATE_HZ, 0.5)
    music[:, 1] = music[:, 0]
    mixer = start(music[np.newaxis])
    mixer.hear(Monitoring("mono"))
    first = mixer.frame
    heard = render(mixer, 3 * FADE)
    assert np.array_equal(heard, music[(first + np.arange(3 * FADE)) % len(music)])


def test_the_sides_of_equal_channels_are_silence() -> None:
    """(x − x) / 2 = 0."""
    versions = make_stereo()
    versions[:, :, 1] = versions[:, :, 0]
    heard, _ = hear(versions, Monitoring("sides"))
    assert not heard.any()


def test_mono_and_sides_add_up_to_the_left_and_take_away_to_the_right() -> None:
    """(l + r) / 2 ± (l − r) / 2 is l and r; each is the same on both sides."""
    mono, plain = hear(make_stereo(), Monitoring("mono"))
    sides, _ = hear(make_stereo(), Monitoring("sides"))
    for heard in (mono, sides):
        assert np.array_equal(heard[:, 0], heard[:, 1])
    np.testing.assert_allclose(mono[:, 0] + sides[:, 0], plain[:, 0], atol=2e-7)
    np.testing.assert_allclose(mono[:, 0] - sides[:, 0], plain[:, 1], atol=2e-7)


def test_swapped_twice_is_the_identity() -> None:
    """Swapping what was swapped gives the loop back, bit by bit."""
    versions = make_stereo()
    once, plain = hear(versions, Monitoring("swapped"))
    assert np.array_equal(once, plain[:, ::-1])
    twice, _ = hear(versions[:, :, ::-1].copy(), Monitoring("swapped"))
    assert np.array_equal(twice, plain)


@pytest.mark.parametrize("channels", ROUTES)
def test_quiet_is_a_factor_of_a_tenth(channels: Channels) -> None:
    """−20 dB is 10^(−20/20) = 0.1, whatever the channels do."""
    loud, _ = hear(make_stereo(), Monitoring(channels))
    quiet, _ = hear(make_stereo(), Monitoring(channels, quiet=True))
    np.testing.assert_allclose(quiet, 0.1 * loud, atol=1e-7)


def test_a_change_is_a_raised_cosine_of_10_ms() -> None:
    """From l = 1, r = 0 to swapped the left falls as 1 − (1 − cos(pi a / T)) / 2, and the right rises as it."""
    versions = np.zeros((1, 700, 2), dtype=np.float32)
    versions[0, :, 0] = 1.0
    mixer = start(versions)
    mixer.hear(Monitoring("swapped"))
    heard = render(mixer, FADE + 100)
    np.testing.assert_allclose(heard[:FADE, 0], 1.0 - draw_cosine(FADE), atol=2e-7)
    np.testing.assert_allclose(heard[:FADE, 1], draw_cosine(FADE), atol=2e-7)
    np.testing.assert_array_equal(heard[FADE:], [[0.0, 1.0]] * 100)


@pytest.mark.parametrize("periods", [10, 44, 100])
def test_no_change_clicks(periods: int) -> None:
    """Second differences of gliding sines stay under the bound of calculus; a bare change exceeds it many times.

    A channel is a sum of two sines whose factors add up to 1 at most and move by 2 at most in a glide: two slopes.
    """
    omega = 2 * math.pi * periods / LENGTH
    time = np.arange(LENGTH)
    versions = np.stack([np.sin(omega * time + phase) for phase in (0.0, 2.5)], axis=1)[np.newaxis]
    versions = (0.5 * versions).astype(np.float32)
    mixer, random, parts = start(versions), np.random.default_rng(1), []
    for _ in range(60):
        mixer.hear(WAYS[int(random.integers(len(WAYS)))])
        parts.append(render(mixer, 500, 250))
    sound = np.concatenate(parts)
    bound = bound_faded_sine(0.5, omega, FADE, overlapping=2)
    assert max(second_difference(sound[:, 0]), second_difference(sound[:, 1])) <= bound + 1e-6
    bare = np.concatenate([versions[0, :777, 0], versions[0, 777:, 1]])
    assert second_difference(bare) > 3 * bound


@settings(max_examples=40, deadline=None)
@given(wishes=st.lists(st.tuples(st.integers(1, 600), st.integers(0, 7)), min_size=1, max_size=40))
def test_nothing_within_one_leaves_it(wishes: list[tuple[int, int]]) -> None:
    """|a l + b r| <= max(|l|, |r|) for rows whose factors sum to 1 at most: the worst signs stay within ±1."""
    versions = np.sign(make_stereo(301))
    mixer = start(versions)
    for frames, way in wishes:
        mixer.hear(WAYS[way])
        assert np.abs(render(mixer, frames, frames)).max() <= 1.0 + 1e-6


def read_true_peak(sound: Samples) -> float:
    """Read the higher true peak of both channels with pyebur128 (BS.1770, annex 2), as a factor."""
    state = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_TRUE_PEAK)
    state.add_frames(np.ascontiguousarray(sound, dtype=np.float32).reshape(-1), len(sound))
    return max(float(pyebur128.get_true_peak(state, channel)) for channel in (0, 1))


@pytest.mark.parametrize("how", WAYS)
def test_no_true_peak_grows(how: Monitoring) -> None:
    """By pyebur128, on noise near full scale whose peaks lie between the samples."""
    rng = np.random.default_rng(3)
    versions = rng.choice([-0.7, 0.7], (1, 9600, 2)).astype(np.float32)
    heard, plain = hear(versions, how, 9600)
    assert read_true_peak(plain) > 0.8
    assert read_true_peak(heard) <= read_true_peak(plain) * 1.0001


def test_every_reel_begins_as_it_is() -> None:
    """A load takes the way of hearing away, even one that was wished for in the same block."""
    mixer = start(make_stereo())
    mixer.hear(Monitoring("mono", quiet=True))
    render(mixer, 2 * FADE)
    second = make_stereo(20000)
    mixer.load(make_reel(second, RATE_HZ))
    mixer.play()
    render(mixer, FADE + BLOCK)
    render(mixer, 15000)
    first = mixer.frame
    assert np.array_equal(render(mixer, 1000), second[0, (first + np.arange(1000)) % 20000])


def test_a_way_chosen_in_silence_is_there_from_the_first_frame() -> None:
    """Nothing of the sides is heard when sides that are silent were chosen before the start."""
    versions = make_stereo()
    versions[:, :, 1] = versions[:, :, 0]
    mixer = Mixer()
    mixer.load(make_reel(versions, RATE_HZ))
    render(mixer, BLOCK)
    mixer.hear(Monitoring("sides"))
    mixer.play()
    assert not render(mixer, 20000).any()


def test_more_changes_than_slots_arrive_in_the_end() -> None:
    """With a change in every frame, late ones wait, and the last one is where it ends."""
    mixer = start(np.ones((1, 600, 2), dtype=np.float32))
    for change in range(3 * SLOTS):
        mixer.hear(WAYS[(0, 2, 4)[change % 3]])
        render(mixer, 1, 1)
    np.testing.assert_allclose(render(mixer, 4 * FADE)[-FADE:], 0.1, atol=1e-7)


def test_changing_allocates_no_arrays() -> None:
    """Peak memory of a thousand blocks stays under the size of one part: only views come and go."""
    import tracemalloc

    mixer = start(make_stereo())
    block = np.empty((BLOCK, 2), dtype=np.float32)
    tracemalloc.start()
    base = tracemalloc.get_traced_memory()[0]
    tracemalloc.reset_peak()
    for change in range(1000):
        mixer.hear(WAYS[change % len(WAYS)])
        mixer.render(block)
    peak = tracemalloc.get_traced_memory()[1] - base
    tracemalloc.stop()
    assert peak < SUB_BLOCK * 2 * 4


def test_the_way_goes_with_the_sound_to_the_next_output() -> None:
    """Sides of equal channels are silence on both outputs; a load brings the sound back."""
    versions = make_stereo(20000)
    versions[:, :, 1] = versions[:, :, 0]
    desk = Desk()
    player = desk.open()
    player.load(versions, RATE_HZ)
    player.hear(Monitoring("sides"))
    player.play()
    assert not desk.first.stream.pump(0.5).any()
    desk.first.stream.there = False
    player.position()
    assert not desk.second.stream.pump(0.5).any()
    player.load(versions, RATE_HZ)
    player.play()
    assert desk.second.stream.pump(0.5).any()


def test_every_player_can_be_asked() -> None:
    """On one output, on a chain of them, and without sound; nothing has to be loaded."""
    clock = HandClock()
    desk = Desk()
    players: list[Player] = [StreamPlayer(HandOutput(clock), RATE_HZ, clock, clock.sleep), desk.open()]
    players.append(SilentPlayer(RATE_HZ, now=clock))
    for player in players:
        player.hear(Monitoring("mono"))
        player.sound_notes((660.0,))
        assert not player.position().playing
