"""What a stretch contains, against sines in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import noise, sine
from trainer.measure.contents import measure_contents


def test_level_above_a_corner() -> None:
    """Closed form: sines of 500 Hz and 8 kHz of equal height hold half of the power each: −3.01 dB."""
    song = sine(500.0, 0.2, 96000, 48000) + sine(8000.0, 0.2, 96000, 48000)
    stretch = measure_contents(song, 48000, (2000.0, 23900.0)).cut(0.5, 1.0)
    assert stretch.above_db[2000.0] == pytest.approx(-3.01, abs=0.05)
    assert stretch.above_db[23900.0] < -100


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
    stretch = measure_contents(np.zeros((96000, 2), np.float32), 48000, (2000.0,)).cut(0.2, 1.0)
    figures = (stretch.loudness_db, stretch.softest_db, stretch.peak_over_rms_db, stretch.above_db[2000.0])
    assert np.isfinite(figures).all()
