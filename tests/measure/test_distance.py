"""Versions that sound alike are near, versions that do not are far."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.moves import MOVES
from trainer.measure.distance import measure_distance

RATE_HZ = 48000
SONG = music_like(4 * RATE_HZ, RATE_HZ, 1)


def test_nothing_and_plain_gain_are_no_distance() -> None:
    """By definition: versions are compared at equal loudness, and one sound is itself."""
    assert measure_distance(SONG, SONG, RATE_HZ).overall_db == 0.0
    assert measure_distance(SONG, 0.5 * SONG, RATE_HZ).overall_db == pytest.approx(0.0, abs=1e-6)
    silence = np.zeros((RATE_HZ, 2))
    assert measure_distance(silence, silence, RATE_HZ).overall_db == 0.0


def test_phase_alone_is_next_to_nothing() -> None:
    """Closed form: a first-order all-pass of 1 kHz has a gain of 1 at every frequency."""
    c = (np.tan(np.pi * 1000 / RATE_HZ) - 1) / (np.tan(np.pi * 1000 / RATE_HZ) + 1)
    turned = lfilter([c, 1], [1, c], SONG, axis=0)
    plain = 10 * np.log10(np.mean((turned - SONG) ** 2) / np.mean(SONG**2))
    assert plain > -6.0
    assert measure_distance(SONG, turned, RATE_HZ).overall_db < 0.25


def test_opposite_shelves_at_one_corner_are_one_sound() -> None:
    """Audio EQ Cookbook: a low shelf of −g is a high shelf of +g at the same corner, turned down by g.

    So a question must not offer both as answers. The distance left is that of the two digital designs.
    """
    loop = Clip(SONG.astype(np.float32), RATE_HZ)
    low = MOVES["low_shelf"].render(loop, {"corner_hz": 1000.0, "gain_db": -3.0}).samples
    high = MOVES["high_shelf"].render(loop, {"corner_hz": 1000.0, "gain_db": 3.0}).samples
    assert measure_distance(low, high, RATE_HZ).overall_db < 0.02
    assert measure_distance(loop.samples, high, RATE_HZ).overall_db > 0.5


@pytest.mark.parametrize("gain_db", [1.0, -3.0])
def test_the_largest_difference_is_where_the_filter_is(gain_db: float) -> None:
    """Closed form: noise has equal power per line, so one band turned by so many dB shows them there."""
    before = noise(4 * RATE_HZ, 0.1, 2)
    spectrum = np.fft.rfft(before, axis=0)
    hertz = np.fft.rfftfreq(before.shape[0], 1 / RATE_HZ)
    spectrum[(hertz > 2818) & (hertz < 3548)] *= 10 ** (gain_db / 20)
    after = np.fft.irfft(spectrum, axis=0)
    found = measure_distance(before, after, RATE_HZ)
    assert found.at_hz == pytest.approx(3162.3, abs=0.1)
    assert found.largest_db == pytest.approx(gain_db, abs=0.15)


def test_polarity_and_swapped_sides_are_far() -> None:
    """What neither spectrum of a side nor its level over time shows, middle and side do, and the other way round."""
    assert measure_distance(SONG, SONG * [1.0, -1.0], RATE_HZ).overall_db > 3.0
    assert measure_distance(SONG, SONG[:, ::-1], RATE_HZ).overall_db > 0.5
    assert measure_distance(SONG, SONG[:, ::-1] * 1.0, RATE_HZ).overall_db == pytest.approx(
        measure_distance(SONG[:, ::-1], SONG, RATE_HZ).overall_db, abs=1e-9
    )
