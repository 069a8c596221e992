"""K-weighting against the tables of ITU-R BS.1770 and their values at single frequencies."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import sosfilt, sosfreqz

from tests.measure.sounds import noise
from trainer.measure.weighting import design_k_weighting, weight_k


def test_coefficients_at_48_khz_are_those_of_the_standard() -> None:
    """ITU-R BS.1770-5, Annex 1, Tables 1 and 2."""
    shelf = [1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585]
    high_pass = [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621]
    np.testing.assert_allclose(design_k_weighting(48000), [shelf, high_pass], atol=1e-11)


@pytest.mark.parametrize("rate_hz", [44100, 48000, 96000, 192000])
def test_gain_at_single_frequencies_is_the_same_at_every_rate(rate_hz: int) -> None:
    """Values computed with scipy from ITU-R BS.1770-5, Tables 1 and 2, at 48 kHz (20 Hz −13.275 dB, 1 kHz 0.698 dB)."""
    tables = np.array(
        [
            [1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585],
            [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621],
        ]
    )
    frequencies = np.array([20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10000.0])
    _, wished = sosfreqz(tables, worN=frequencies, fs=48000)
    assert 20 * np.log10(abs(wished[0])) == pytest.approx(-13.275, abs=0.001)
    assert 20 * np.log10(abs(wished[5])) == pytest.approx(0.698, abs=0.001)
    _, given = sosfreqz(design_k_weighting(rate_hz).copy(), worN=frequencies, fs=rate_hz)
    # A bilinear filter warps a little towards Nyquist, more at lower rates; the low end also knows the high-pass's
    # numerator, which the standard leaves unscaled.
    np.testing.assert_allclose(20 * np.log10(np.abs(given / wished)), 0.0, atol=0.05)


def test_filtering_is_that_of_the_tables_and_leaves_its_input() -> None:
    """Against scipy's sosfilt with ITU-R BS.1770-5, Tables 1 and 2."""
    samples = noise(4800, 0.2, 1)
    kept = samples.copy()
    tables = np.array(
        [
            [1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585],
            [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621],
        ]
    )
    np.testing.assert_allclose(weight_k(samples, 48000), sosfilt(tables, samples, axis=0), atol=1e-9)
    np.testing.assert_array_equal(samples, kept)
