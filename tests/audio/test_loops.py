"""Loops: the seam, the endless repetition, and steady state."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import lfilter

from trainer.audio.clip import Clip
from trainer.audio.loops import cut_loop, extend_loop, outline_loop, process_in_steady_state
from trainer.errors import BadValue

RATE_HZ = 48000


def _noise(frames: int, seed: int = 0) -> npt.NDArray[np.float32]:
    return (0.2 * np.random.default_rng(seed).standard_normal((frames, 2))).astype(np.float32)


@pytest.mark.parametrize(("start", "frames"), [(-1, 100), (0, 0), (950, 51), (2000, 10)])
def test_a_loop_outside_the_clip_is_refused(start: int, frames: int) -> None:
    """The contract of the docstring; the message is one line."""
    with pytest.raises(BadValue) as caught:
        cut_loop(Clip(_noise(1000), RATE_HZ), start, frames)
    assert "\n" not in str(caught.value)


def test_all_but_the_seam_is_the_song_bit_for_bit() -> None:
    """Only the last 20 ms may differ (closed form: 960 frames at 48 kHz)."""
    song = Clip(_noise(40000), RATE_HZ)
    loop = cut_loop(song, 5000, 24000)
    assert loop.frames == 24000
    np.testing.assert_array_equal(loop.samples[:-960], song.samples[5000 : 29000 - 960])
    assert not np.array_equal(loop.samples[-960:], song.samples[29000 - 960 : 29000])


def test_the_seam_is_a_raised_cosine_into_what_came_before() -> None:
    """Closed form: raised-cosine gains, centred on the frames, that sum to 1 (Hann, 1st kind)."""
    song = Clip(_noise(40000), RATE_HZ)
    loop = cut_loop(song, 5000, 24000, seam_s=0.01)
    rise = np.sin(np.pi / 2 * (np.arange(480) + 0.5) / 480) ** 2
    end = song.samples[29000 - 480 : 29000].astype(np.float64)
    before = song.samples[5000 - 480 : 5000].astype(np.float64)
    np.testing.assert_allclose(loop.samples[-480:], end * (1 - rise)[:, None] + before * rise[:, None], atol=1e-7)


def test_a_sine_that_does_not_fit_goes_on_smoothly_over_the_jump() -> None:
    """Closed form: neighbouring frames of a sine differ by at most A·2π·f/fs; a hard cut would jump by 2A."""
    time = np.arange(60000)
    wave = 0.5 * np.sin(2 * np.pi * 200.0 / RATE_HZ * time)
    song = Clip(np.repeat(wave[:, None], 2, axis=1).astype(np.float32), RATE_HZ)
    loop = cut_loop(song, 6000, 24000 + 120).samples[:, 0].astype(np.float64)
    steepest = 0.5 * 2 * np.pi * 200.0 / RATE_HZ
    # The blend itself adds at most its own slope, pi/2 over 960 frames, times the 2A between both sounds.
    assert np.abs(np.diff(np.concatenate([loop, loop[:1]]))).max() < steepest + np.pi / 2 / 960
    assert abs(loop[0] - loop[-1]) < steepest * 1.001


def test_a_periodic_song_is_left_alone() -> None:
    """Where both sides of the blend are equal, gains that sum to 1 change nothing (closed form)."""
    period = _noise(4800)
    song = Clip(np.tile(period, (5, 1)), RATE_HZ)
    np.testing.assert_allclose(cut_loop(song, 4800, 9600).samples, np.tile(period, (2, 1)), atol=1e-7)


def test_at_the_head_of_a_song_the_seam_is_as_long_as_what_is_there() -> None:
    """The contract of the docstring: nothing before the first frame, so the last is left alone."""
    song = Clip(_noise(20000), RATE_HZ)
    np.testing.assert_array_equal(cut_loop(song, 0, 10000).samples, song.samples[:10000])
    part = cut_loop(song, 100, 10000).samples
    np.testing.assert_array_equal(part[:-100], song.samples[100:10000])
    assert not np.array_equal(part[-100:], song.samples[10000:10100])


@pytest.mark.parametrize(("before", "after"), [(0, 0), (3, 2), (25, 0), (0, 31)])
def test_extension_is_the_endless_repetition(before: int, after: int) -> None:
    """Definition: frame n of the endless loop is frame n modulo its length."""
    loop = _noise(10)
    endless = np.tile(loop, (9, 1))
    np.testing.assert_array_equal(extend_loop(loop, before, after), endless[40 - before : 40 + 10 + after])


def test_steady_state_is_what_a_later_round_sounds_like() -> None:
    """Against scipy's lfilter on seven rounds: a one-pole of 10 ms, run up by half a second, is 430 dB down."""
    loop, a = _noise(12000), float(np.exp(-1 / 480))

    def process(samples: npt.NDArray[np.floating]) -> npt.NDArray[np.floating]:
        return np.asarray(lfilter([1 - a], [1, -a], samples.astype(np.float64), axis=0))

    rounds = process(np.tile(loop, (7, 1)))
    steady = process_in_steady_state(process, loop, 24000)
    np.testing.assert_allclose(steady, rounds[6 * 12000 :], atol=1e-12)


def test_steady_state_looks_ahead_over_the_seam() -> None:
    """A shift to the left brings the loop's own head to its end (definition)."""
    loop = _noise(1000)
    ahead = process_in_steady_state(lambda x: np.roll(x, -5, axis=0), loop, 10, 10)
    np.testing.assert_array_equal(ahead, np.roll(loop, -5, axis=0))


def test_outline_shows_the_shape() -> None:
    """Closed form: a ramp from 0 to 0.5 has the outline 1/4, 2/4, 3/4, 1; silence has an outline of zeros."""
    ramp = np.repeat(np.linspace(0, 0.5, 4001)[1:, None], 2, axis=1).astype(np.float32)
    np.testing.assert_allclose(outline_loop(ramp, 4), [0.25, 0.5, 0.75, 1.0], atol=1e-5)
    assert outline_loop(np.zeros((50, 2), np.float32), 4) == (0.0, 0.0, 0.0, 0.0)
