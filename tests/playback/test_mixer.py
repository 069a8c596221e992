"""The mixer against signals that number their own frames, closed forms, and plain calculus."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.errors import BadValue
from trainer.playback.glide import SLOTS
from trainer.playback.mixer import Mixer
from trainer.playback.reel import SUB_BLOCK, make_reel

from .signals import (
    Samples,
    bound_faded_sine,
    count_jumps,
    draw_cosine,
    make_counting,
    make_music,
    read_frames,
    read_loudness,
    read_ramped_frames,
    second_difference,
)

RATE_HZ = 48000
FADE = 480
FADE_IN = 14400
BLOCK = 256


def render(mixer: Mixer, frames: int, block: int = BLOCK) -> Samples:
    """Render so many frames, in blocks."""
    sound = np.full((frames, 2), np.nan, dtype=np.float32)
    for start in range(0, frames, block):
        mixer.render(sound[start : start + block])
    return sound


def start(versions: Samples, rate_hz: int = RATE_HZ) -> Mixer:
    """Load versions and render past the fade in."""
    mixer = Mixer()
    mixer.load(make_reel(versions, rate_hz))
    mixer.play()
    render(mixer, BLOCK * (rate_hz // 600))
    return mixer


@pytest.mark.parametrize("block", [1, 64, 239, 240, 241, 256, 1024, 5000])
def test_frames_follow_each_other_over_the_seam(block: int) -> None:
    """Every frame of the loop comes in turn, seam included: the signal is its own frame number."""
    length = 7001
    mixer = start(make_counting(3, length))
    first = mixer.frame
    frames = read_frames(render(mixer, 3 * length, block))
    assert frames[0] == first
    assert count_jumps(frames, length) == 0


def test_loops_shorter_than_a_part_repeat() -> None:
    """A loop of 7 frames, shorter than the copied head, goes round without a jump."""
    frames = read_frames(render(start(make_counting(1, 7)), 1000))
    assert count_jumps(frames, 7) == 0


@pytest.mark.parametrize(("rate_hz", "length"), [(44100, 441), (48000, 480), (96000, 960), (8000, 80)])
def test_a_switch_is_a_raised_cosine_of_10_ms(rate_hz: int, length: int) -> None:
    """The weight of the new version is (1 - cos(pi a / T)) / 2 by its formula, T = 10 ms at each rate."""
    versions = np.zeros((2, 4000, 2), dtype=np.float32)
    versions[1] = 1.0
    mixer = start(versions, rate_hz)
    mixer.select(1)
    sound = render(mixer, 2 * length)
    expected = np.concatenate([draw_cosine(length), np.ones(length)])
    np.testing.assert_allclose(sound[:, 0], expected, atol=2e-7)


def test_the_first_start_fades_in_over_300_ms_and_the_next_over_10() -> None:
    """The level rises as (1 - cos(pi a / T)) / 2 with T = 300 ms; after a pause with T = 10 ms."""
    mixer = Mixer()
    mixer.load(make_reel(np.ones((1, 999, 2), dtype=np.float32), RATE_HZ))
    assert not render(mixer, 512).any()
    mixer.play()
    np.testing.assert_allclose(render(mixer, FADE_IN)[:, 1], draw_cosine(FADE_IN), atol=2e-7)
    assert np.all(render(mixer, 1000) == 1.0)
    mixer.pause()
    np.testing.assert_allclose(render(mixer, FADE)[:, 1], 1.0 - draw_cosine(FADE), atol=2e-7)
    assert not render(mixer, 1000).any()
    mixer.play()
    np.testing.assert_allclose(render(mixer, FADE)[:, 1], draw_cosine(FADE), atol=2e-7)


def test_a_pause_keeps_the_position_to_the_frame() -> None:
    """Frame numbers read through both ramps go on over the pause as if there had been none."""
    length = 9000
    mixer = start(make_counting(2, length))
    mixer.pause()
    down = render(mixer, 1000)
    assert np.count_nonzero(down[:, 0]) == FADE
    mixer.play()
    up = render(mixer, 1000)
    # Frame 0 of a ramp has the weight 0: it belongs to the loop, but it is not heard.
    heard = np.concatenate([read_ramped_frames(down[1:FADE], 0), read_ramped_frames(up[1:], 0)])
    steps = np.diff(np.rint(heard)) % length
    expected = np.ones(len(heard) - 1)
    expected[FADE - 2] = 2
    np.testing.assert_array_equal(steps, expected)
    np.testing.assert_allclose(heard, np.rint(heard), atol=0.05)


@settings(max_examples=40, deadline=None)
@given(
    blocks=st.lists(
        st.tuples(st.integers(1, 700), st.sampled_from(["select", "pause", "play", "-"]), st.integers(0, 4)),
        min_size=5,
        max_size=60,
    )
)
def test_weights_sum_to_one_in_any_storm(blocks: list[tuple[int, str, int]]) -> None:
    """Versions that are equal on the left stay equal bit by bit; one-hot versions never leave 0 to 1.

    With the same constant c in each version, weights of sum 1 give c; a sum of 0.999 would show.
    The right channel holds 1 in version 2 alone, so it is that version's weight, times the gate.
    """
    versions = np.full((5, 301, 2), 0.7, dtype=np.float32)
    versions[:, :, 1] = 0.0
    versions[2, :, 1] = 1.0
    mixer = start(versions)
    running, settled = True, 2 * FADE
    for frames, wish, version in blocks:
        if wish == "select":
            mixer.select(version)
        elif wish != "-":
            settled = settled if (wish == "play") == running else 0
            running = wish == "play"
            (mixer.play if running else mixer.pause)()
        sound = np.full((frames, 2), np.nan, dtype=np.float32)
        mixer.render(sound)
        if running and settled >= 2 * FADE:
            assert np.all(sound[:, 0] == np.float32(0.7))
        assert sound.min() >= -1e-6
        assert sound[:, 0].max() <= 0.7 + 1e-6
        assert sound[:, 1].max() <= 1.0 + 1e-6
        settled += frames


def test_equal_versions_hide_a_storm_of_switches() -> None:
    """Switching between versions of equal samples leaves not one bit of difference."""
    music = make_music(RATE_HZ, 0.5)
    mixer = start(np.stack([music] * 4))
    first, random = mixer.frame, np.random.default_rng(3)
    sound = np.empty((200 * 100, 2), dtype=np.float32)
    for block in range(200):
        mixer.select(int(random.integers(4)))
        mixer.render(sound[block * 100 : (block + 1) * 100])
    expected = music[(first + np.arange(len(sound))) % len(music)]
    assert np.array_equal(sound, expected)


def test_wanting_the_present_version_takes_the_same_path() -> None:
    """A request for the present version begins a move like any other, and is not heard."""
    mixer = start(make_counting(2, 5000))
    first = mixer.frame
    mixer.select(0)
    sound = render(mixer, BLOCK)
    assert mixer._version.count == 1
    assert np.array_equal(sound, make_counting(2, 5000)[0, first : first + BLOCK])


def test_a_request_in_a_fade_goes_on_from_the_present_weights() -> None:
    """The weights have no step: none moves faster than three raised cosines at once, 3 pi / 2T a frame."""
    versions = np.zeros((3, 600, 2), dtype=np.float32)
    versions[1, :, 0] = versions[2, :, 1] = 1.0
    mixer = start(versions)
    parts = []
    for version in (1, 2, 0, 1, 2, 2, 1, 0, 2):
        mixer.select(version)
        parts.append(render(mixer, 160, 160))
    parts.append(render(mixer, 2 * FADE))
    weights = np.concatenate(parts).astype(np.float64)
    assert np.abs(np.diff(weights, axis=0)).max() <= 3 * math.pi / (2 * FADE) + 1e-6
    np.testing.assert_array_equal(weights[-1], [0.0, 1.0])


def make_sines(omega: float) -> Samples:
    """Make three sines of 4800 frames and one frequency that differ in gain, phase and channel."""
    time = np.arange(4800)
    versions = np.empty((3, 4800, 2), dtype=np.float32)
    for index, (gain, phase) in enumerate([(0.5, 0.0), (0.2, 2.0), (0.4, 4.0)]):
        versions[index, :, 0] = gain * np.sin(omega * time + phase)
        versions[index, :, 1] = gain * np.sin(omega * time + 2 * phase)
    return versions


@pytest.mark.parametrize("periods", [10, 44, 100])
def test_no_switch_or_pause_clicks(periods: int) -> None:
    """Second differences stay under the bound that calculus gives for a faded sine.

    Two versions take part in a fade with opposite slopes, and 500 frames lie between requests: so
    two slopes at a time. A bare switch exceeds the bound many times, which the last line shows.
    """
    omega = 2 * math.pi * periods / 4800
    versions = make_sines(omega)
    mixer = start(versions)
    random, parts = np.random.default_rng(1), []
    for _ in range(60):
        mixer.select(int(random.integers(3)))
        parts.append(render(mixer, 500, 250))
        if random.random() < 0.3:
            mixer.pause()
            parts.append(render(mixer, 750, 250))
            mixer.play()
            parts.append(render(mixer, 500, 250))
    sound = np.concatenate(parts)
    bound = bound_faded_sine(0.5, omega, FADE, overlapping=2)
    assert max(second_difference(sound[:, 0]), second_difference(sound[:, 1])) <= bound + 1e-6
    bare = np.concatenate([versions[0, :777, 0], versions[1, 777:, 0]])
    assert second_difference(bare) > 3 * bound


def test_a_storm_of_requests_does_not_click() -> None:
    """With a request in each 5 ms block, two or three fades overlap; the bound holds with six slopes."""
    omega = 2 * math.pi * 100 / 4800
    mixer = start(make_sines(omega))
    random, parts = np.random.default_rng(2), []
    for _ in range(300):
        mixer.select(int(random.integers(3)))
        parts.append(render(mixer, BLOCK))
    sound = np.concatenate(parts)
    assert second_difference(sound[:, 0]) <= bound_faded_sine(0.5, omega, FADE, overlapping=6) + 1e-6


def test_loading_while_playing_ramps_down_and_waits() -> None:
    """The old loop ends with its 10 ms ramp; the new one is silent until it is started, at frame 0."""
    old, new = np.ones((2, 700, 2), dtype=np.float32), make_counting(3, 20000)
    mixer = start(old)
    mixer.load(make_reel(new, RATE_HZ))
    sound = render(mixer, 4 * BLOCK)
    np.testing.assert_allclose(sound[:FADE, 0], 1.0 - draw_cosine(FADE), atol=2e-7)
    assert not sound[FADE:].any()
    mixer.select(2)
    mixer.play()
    heard = render(mixer, 15000)
    np.testing.assert_allclose(heard[:FADE_IN, 1], 3 / 16 * draw_cosine(FADE_IN), atol=1e-7)
    assert list(read_frames(heard[FADE_IN : FADE_IN + 3])) == [FADE_IN, FADE_IN + 1, FADE_IN + 2]


def test_wishes_made_before_the_swap_belong_to_the_new_reel() -> None:
    """Load, select and play within one block: the old loop ramps down unswitched, then the new one starts."""
    old = np.ones((2, 700, 2), dtype=np.float32)
    old[1] = -1.0
    mixer = start(old)
    mixer.load(make_reel(make_counting(2, 20000), RATE_HZ))
    mixer.select(1)
    mixer.play()
    sound = render(mixer, 2 * BLOCK + FADE_IN)
    np.testing.assert_allclose(sound[:FADE, 0], 1.0 - draw_cosine(FADE), atol=2e-7)
    rise = np.flatnonzero(sound[2 * BLOCK :, 1])[0] + 2 * BLOCK
    expected = 2 / 16 * draw_cosine(FADE_IN)
    np.testing.assert_allclose(sound[rise - 1 :, 1], expected[: len(sound) - rise + 1], atol=1e-7)


def test_a_selection_made_in_silence_is_there_from_the_first_frame() -> None:
    """Nothing of the version selected before is heard at the start."""
    mixer = Mixer()
    mixer.load(make_reel(make_counting(3, 5000), RATE_HZ))
    render(mixer, BLOCK)
    mixer.select(1)
    mixer.play()
    sound = render(mixer, 3 * BLOCK)
    numbers = read_ramped_frames(sound[20:], 1)
    np.testing.assert_allclose(numbers, np.arange(20, len(sound)), atol=0.2)


def test_levels_are_equal_before_and_after_switches() -> None:
    """Loudness by pyebur128 over whole turns is that of the loop itself, before, after, and after a pause."""
    music = make_music(RATE_HZ, 1.0)
    versions = np.stack([music, music[:, ::-1]])
    mixer = start(versions)

    def read_own(version: int) -> float:
        return read_loudness(np.tile(np.roll(versions[version], -mixer.frame, axis=0), (3, 1)), RATE_HZ)

    own = read_own(0)
    assert read_loudness(render(mixer, 3 * RATE_HZ), RATE_HZ) == pytest.approx(own, abs=1e-4)
    mixer.select(1)
    mixer.pause()
    render(mixer, 1024)
    mixer.play()
    render(mixer, 1024)
    own = read_own(1)
    assert read_loudness(render(mixer, 3 * RATE_HZ), RATE_HZ) == pytest.approx(own, abs=1e-4)


def test_more_requests_than_slots_arrive_in_the_end() -> None:
    """With a request in every single frame, late ones wait, and the last one is where it ends."""
    versions = np.zeros((3, 600, 2), dtype=np.float32)
    versions[2] = 1.0
    mixer = start(versions)
    for request in range(3 * SLOTS):
        mixer.select(request % 3)
        render(mixer, 1, 1)
    assert np.all(render(mixer, 4 * FADE)[-FADE:] == 1.0)


def test_rendering_allocates_no_arrays() -> None:
    """Peak memory of a thousand blocks stays under the size of one part: only views come and go."""
    import tracemalloc

    mixer = start(make_counting(4, 5000))
    block = np.empty((BLOCK, 2), dtype=np.float32)
    tracemalloc.start()
    base = tracemalloc.get_traced_memory()[0]
    tracemalloc.reset_peak()
    for request in range(1000):
        mixer.select(request % 4)
        mixer.render(block)
    peak = tracemalloc.get_traced_memory()[1] - base
    tracemalloc.stop()
    assert peak < SUB_BLOCK * 2 * 4


@pytest.mark.parametrize("shape", [(2, 100), (0, 100, 2), (2, 0, 2), (2, 100, 1), (257, 1, 2)])
def test_shapes_that_cannot_be_played_are_refused(shape: tuple[int, ...]) -> None:
    """The error names the versions."""
    with pytest.raises(BadValue, match="versions="):
        make_reel(np.zeros(shape, dtype=np.float32), RATE_HZ)


def test_versions_that_are_not_there_are_refused() -> None:
    """The error says which there are."""
    mixer = start(make_counting(3, 500))
    for version in (-1, 3):
        with pytest.raises(BadValue, match="expected 0 to 2"):
            mixer.select(version)
