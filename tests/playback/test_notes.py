"""Notes over a loop: their level, their length and ramps, and the room they take, by closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trainer.errors import BadValue
from trainer.playback.mixer import Mixer
from trainer.playback.notes import draw_notes
from trainer.playback.reel import SUB_BLOCK

from .fakes import HandClock
from .signals import Samples, bound_faded_sine, second_difference
from .test_mixer import FADE, RATE_HZ, render, start
from .test_player import Desk

NOTE = round(0.08 * RATE_HZ)
CEILING = 10 ** (-1 / 20)


def ring(block: int = 256, frames: int = 3 * NOTE) -> Samples:
    """Give one note over silence."""
    mixer = Mixer()
    mixer.strike(draw_notes((660.0,), RATE_HZ))
    return render(mixer, frames, block)


@pytest.mark.parametrize("block", [1, 239, 256, 1024])
def test_a_note_lasts_80_ms_and_peaks_at_minus_30_dbfs(block: int) -> None:
    """10^(−30/20) = 0.0316 at the top, by AES17 a full-scale sine being 0 dBFS; zeros after it."""
    heard = ring(block)
    assert np.abs(heard).max() == pytest.approx(10**-1.5, rel=1e-3)
    assert np.array_equal(heard[:, 0], heard[:, 1])
    assert not heard[NOTE:].any() and np.abs(heard[NOTE - 200 : NOTE]).max() > 0


def test_the_middle_is_one_line_at_its_frequency() -> None:
    """1/30 s between the ramps, whole periods of 660 Hz: the spectrum has one line, at the 22nd place."""
    middle = ring()[1200 : 1200 + 1600, 0].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(middle)) / 800
    assert spectrum[22] == pytest.approx(10**-1.5, rel=1e-3)
    spectrum[22] = 0.0
    assert spectrum.max() < 1e-6


def test_notes_do_not_click() -> None:
    """Second differences stay under the bound of a sine under a raised cosine of 20 ms."""
    omega = 2 * math.pi * 880 / RATE_HZ
    mixer = Mixer()
    mixer.strike(draw_notes((660.0, 880.0), RATE_HZ))
    heard = render(mixer, 4 * NOTE)
    assert second_difference(heard[:, 0]) <= bound_faded_sine(10**-1.5, omega, RATE_HZ // 50) + 1e-7


def test_two_notes_follow_each_other_and_pitch_tells_them_apart() -> None:
    """80 ms, 40 ms of silence, 80 ms; zero crossings go by the frequencies, 660 and 880 Hz."""
    mixer = Mixer()
    mixer.strike(draw_notes((660.0, 880.0), RATE_HZ))
    heard = render(mixer, 2 * NOTE + RATE_HZ // 25 + 500)[:, 0]
    pause = RATE_HZ // 25
    assert not heard[NOTE : NOTE + pause].any() and not heard[2 * NOTE + pause :].any()
    crossings = [
        np.count_nonzero(np.diff(np.sign(part[100:-100]))) / 2 / ((NOTE - 200) / RATE_HZ)
        for part in (heard[:NOTE], heard[NOTE + pause : 2 * NOTE + pause])
    ]
    assert crossings == pytest.approx([660, 880], rel=0.02)


@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_over_a_loop_at_the_ceiling_nothing_passes_it(sign: float) -> None:
    """c (1 − e n / c) + e n = c: a loop that stands at −1 dBFS with either sign is not passed, and comes back whole."""
    loop = np.full((1, 900, 2), sign * CEILING, dtype=np.float32)
    mixer = start(loop)
    mixer.strike(draw_notes((660.0,), RATE_HZ))
    heard = render(mixer, 2 * NOTE)
    assert np.abs(heard).max() <= CEILING + 1e-6
    least = CEILING * (1 - 10**-1.5 / CEILING) - 10**-1.5
    assert np.abs(heard).min() == pytest.approx(least, abs=2e-3)
    assert np.array_equal(heard[NOTE + 1 :], np.full((NOTE - 1, 2), sign * CEILING, dtype=np.float32))


def test_the_loop_goes_on_underneath() -> None:
    """It is turned down by 20 log(1 − 0.0316 / 0.891) = −0.31 dB at most, and its place is not moved."""
    quiet = np.full((1, 900, 2), 0.0, dtype=np.float32)
    quiet[0, :, 0] = np.linspace(-0.5, 0.5, 900)
    mixer = start(quiet)
    first = mixer.frame
    mixer.strike(draw_notes((660.0,), RATE_HZ))
    heard = render(mixer, NOTE + 500)
    under = heard[:, 0] - heard[:, 1]
    expected = quiet[0, (first + np.arange(NOTE + 500)) % 900, 0]
    ratio = under[np.abs(expected) > 0.1] / expected[np.abs(expected) > 0.1]
    assert 20 * math.log10(ratio.min()) == pytest.approx(-0.314, abs=0.01)
    assert ratio.max() <= 1.0 + 1e-6 and mixer.frame == (first + NOTE + 500) % 900


def test_notes_sound_while_the_loop_stands_and_after_each_other() -> None:
    """A second request waits for the first to end; both are heard whole."""
    mixer = start(np.ones((1, 900, 2), dtype=np.float32))
    mixer.pause()
    render(mixer, 2 * FADE)
    mixer.strike(draw_notes((660.0,), RATE_HZ))
    first = render(mixer, 480)
    assert mixer.ringing and not mixer.sounding and first.any()
    mixer.strike(draw_notes((880.0,), RATE_HZ))
    rest = render(mixer, 3 * NOTE)
    whole = np.concatenate([first, rest])[:, 0]
    energy = float(np.sum(whole.astype(np.float64) ** 2))
    alone = float(np.sum(ring()[:, 0].astype(np.float64) ** 2))
    assert energy == pytest.approx(2 * alone, rel=0.01)
    assert not mixer.ringing


def test_adding_allocates_no_arrays() -> None:
    """Peak memory of the blocks of a note stays under the size of one part."""
    import tracemalloc

    mixer = start(np.ones((1, 900, 2), dtype=np.float32))
    block = np.empty((256, 2), dtype=np.float32)
    mixer.strike(draw_notes((660.0, 880.0), RATE_HZ))
    tracemalloc.start()
    base = tracemalloc.get_traced_memory()[0]
    tracemalloc.reset_peak()
    for _ in range(100):
        mixer.render(block)
    peak = tracemalloc.get_traced_memory()[1] - base
    tracemalloc.stop()
    assert peak < SUB_BLOCK * 2 * 4


@pytest.mark.parametrize("notes_hz", [(), (0.0,), (24000.0,), (660.0, -1.0)])
def test_notes_that_cannot_be_are_refused(notes_hz: tuple[float, ...]) -> None:
    """None at all, or a frequency that the rate does not hold (sampling theorem)."""
    with pytest.raises(BadValue, match="below 24000"):
        draw_notes(notes_hz, RATE_HZ)


@pytest.mark.parametrize("output_hz", [44100, 48000])
def test_notes_have_their_length_at_any_rate_of_the_output(output_hz: int) -> None:
    """80 ms whatever the rate; a chain of players passes them on; closing lets them end."""
    desk = Desk(first_hz=output_hz)
    player = desk.open()
    player.sound_notes((660.0,))
    heard = desk.first.stream.pump(0.2)
    last = np.flatnonzero(heard[:, 0])[-1] / output_hz
    assert last == pytest.approx(0.08, abs=0.001)
    player.sound_notes((660.0,))
    player.close()
    assert isinstance(desk.clock, HandClock)
    tail = np.concatenate(desk.waited)
    assert not tail[-1].any()
