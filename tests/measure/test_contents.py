"""What a stretch contains, against sines in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import noise, sine
from trainer.measure.contents import measure_contents

TOP = (2000.0, np.inf)


def test_level_above_a_corner() -> None:
    """Closed form: sines of 500 Hz and 8 kHz of equal height hold half of the power each: −3.01 dB."""
    song = sine(500.0, 0.2, 96000, 48000) + sine(8000.0, 0.2, 96000, 48000)
    stretch = measure_contents(song, 48000, (TOP, (23900.0, np.inf))).cut(0.5, 1.0)
    assert stretch.band_db[TOP] == pytest.approx(-3.01, abs=0.05)
    assert stretch.band_db[(23900.0, np.inf)] < -100


def test_peak_over_level_and_loudness_of_a_sine() -> None:
    """Closed form: a sine's peak is 3.01 dB over its RMS; a stereo sine at 997 Hz is as loud as its peak level."""
    stretch = measure_contents(sine(997.0, 0.1, 96000, 48000), 48000).cut(0.5, 1.0)
    assert stretch.peak_over_rms_db == pytest.approx(3.01, abs=0.02)
    # Without the offset of −0.691 dB of ITU-R BS.1770.
    assert stretch.loudness_db == pytest.approx(-20.0 + 0.691, abs=0.02)


def test_the_softest_second() -> None:
    """Closed form: in a song with one second 20 dB lower, the softest second is those 20 dB below the others."""
    level = np.concatenate([np.ones(96000), np.full(48000, 0.1), np.ones(96000)])
    contents = measure_contents(noise(level.size, 0.1, 1) * level[:, None], 48000)
    with_it, without = contents.cut(0.0, 5.0), contents.cut(0.0, 2.0)
    assert without.softest_db - with_it.softest_db == pytest.approx(20.0, abs=0.3)


def test_hits_a_second() -> None:
    """By construction: two clicks a second on a quiet bed."""
    song = noise(4 * 48000, 0.005, 2)
    for place in range(12000, 4 * 48000, 24000):
        song[place : place + 240] += sine(3000.0, 0.5, 240, 48000)
    assert measure_contents(song, 48000).cut(0.0, 4.0).hits_per_s == pytest.approx(2.0)


def test_silence_has_finite_contents() -> None:
    """A song may hold a stop: every figure stays a number."""
    stretch = measure_contents(np.zeros((96000, 2), np.float32), 48000, (TOP,)).cut(0.2, 1.0)
    figures = (stretch.loudness_db, stretch.softest_db, stretch.peak_over_rms_db, stretch.band_db[TOP])
    assert np.isfinite(figures).all()


def test_bands_side_and_correlation() -> None:
    """Closed form: 100 Hz on both sides alike, 1 kHz of the same height on the sides only, with opposite sign."""
    middle, edge = sine(100.0, 0.2, 96000, 48000), sine(1000.0, 0.1, 96000, 48000) * [1.0, -1.0]
    stretch = measure_contents(middle + edge, 48000, ((0.0, 300.0), (300.0, 3000.0))).cut(0.5, 1.0)
    # Powers 4 to 1: 0.8 and 0.2 of the whole, 6.02 dB apart, and (4 - 1) / (4 + 1) in correlation.
    assert stretch.band_db[(0.0, 300.0)] == pytest.approx(10 * np.log10(0.8), abs=0.05)
    assert stretch.band_db[(300.0, 3000.0)] == pytest.approx(10 * np.log10(0.2), abs=0.05)
    assert stretch.side_db == pytest.approx(-6.02, abs=0.02)
    # Half sum and half difference: the low band is middle, the upper one side, but for what the filters let by.
    assert stretch.side_band_db[(0.0, 300.0)] < -40 and stretch.side_band_db[(300.0, 3000.0)] > 30
    assert stretch.correlation == pytest.approx(0.6, abs=0.005)


def test_kicks_sibilants_and_held_notes_are_told_apart() -> None:
    """By construction: low bursts, bursts of 7 kHz, and a chord that is held half of the time."""
    song = noise(4 * 48000, 0.001, 2)
    for number, place in enumerate(range(12000, 4 * 48000, 24000)):
        hz, frames = ((60.0, 4800), (7000.0, 2400))[number % 2]
        song[place : place + frames] += sine(hz, 0.4, frames, 48000)
    stretch = measure_contents(song, 48000).cut(0.0, 4.0)
    assert (stretch.kicks_per_s, stretch.sibilants_per_s) == (pytest.approx(1.0), pytest.approx(1.0))
    held = noise(4 * 48000, 1e-5, 3)
    held[:96000] += sine(440.0, 0.2, 96000, 48000)
    assert measure_contents(held, 48000).cut(0.0, 4.0).held_share == pytest.approx(0.5, abs=0.1)
