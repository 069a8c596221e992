"""A band's gain read from the sound against one that was put on it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import butter, sosfiltfilt

from tests.measure.sounds import noise
from trainer.measure.band_reduction import choose_step_s, measure_band_reduction

RATE_HZ = 48000
BANDS = ((0.0, 120.0), (120.0, 800.0), (800.0, 5000.0), (5000.0, math.inf))


@pytest.mark.parametrize("band", BANDS)
def test_a_gain_on_everything_is_read_in_every_band(band: tuple[float, float]) -> None:
    """Closed form: noise times a slow gain, 0 to 6 dB down at 1 Hz; mean 3 dB, deepest 6 dB."""
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    before = noise(time.size, 0.1, 1)
    after = before * (10 ** (-(3 - 3 * np.cos(2 * np.pi * time)) / 20))[:, None]
    read = measure_band_reduction(before, after, RATE_HZ, band)
    assert read.mean_db == pytest.approx(3.0, abs=0.1)
    assert read.on_hits_db == pytest.approx(6.0, abs=0.25)


def test_a_gain_on_one_band_is_read_there_and_not_far_away() -> None:
    """By construction: a zero-phase band from 800 Hz to 5 kHz 6 dB down; two bands away next to nothing."""
    before = noise(4 * RATE_HZ, 0.1, 2)
    sections = butter(4, (600, 6500), "bandpass", fs=RATE_HZ, output="sos")
    after = before - (1 - 10 ** (-6 / 20)) * sosfiltfilt(sections, before, axis=0)
    assert measure_band_reduction(before, after, RATE_HZ, (800.0, 5000.0)).mean_db == pytest.approx(6.0, abs=0.5)
    assert measure_band_reduction(before, after, RATE_HZ, (0.0, 120.0)).mean_db == pytest.approx(0.0, abs=0.05)
    resting = measure_band_reduction(before, 2 * after, RATE_HZ, (800.0, 5000.0), 2.0)
    assert resting.mean_db == pytest.approx(6.0, abs=0.5)


def test_steps_hold_two_periods() -> None:
    """By the rule stated: 20 ms at the bottom, 1 ms at the top."""
    assert [choose_step_s(band) for band in BANDS] == pytest.approx([0.02, 2 / 120, 0.0025, 0.001])


def test_a_silent_band_keeps_the_last_value() -> None:
    """Contract of the docstring: where the band is 30 dB down nothing is read."""
    before = noise(2 * RATE_HZ, 0.1, 3)
    before[RATE_HZ:] *= 0.001
    after = before.copy()
    after[:RATE_HZ] *= 0.5
    read = measure_band_reduction(before, after, RATE_HZ, (800.0, 5000.0)).reduction_db
    np.testing.assert_allclose(read[100:-100], 6.02, atol=0.05)
