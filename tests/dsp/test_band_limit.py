"""The band limit against scipy's frequency response."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import freqz

from tests.measure.sounds import noise
from trainer.dsp.band_limit import band_limit_side_frames, design_band_limit, limit_band


@pytest.mark.parametrize("rate_hz", [44100, 48000])
def test_pass_band_corner_and_stop_band(rate_hz: int) -> None:
    """scipy.signal.freqz: flat to 20 kHz within 0.05 dB, half amplitude at 21 kHz, 60 dB down at the band's end."""
    _, response = freqz(design_band_limit(rate_hz), worN=np.array([*np.linspace(0, 20000, 200), 21000.0]), fs=rate_hz)
    level = 20 * np.log10(np.abs(response))
    assert np.abs(level[:-1]).max() < 0.05
    assert level[-1] == pytest.approx(-6.02, abs=0.1)
    _, response = freqz(design_band_limit(rate_hz), worN=np.linspace(21600, rate_hz / 2, 100), fs=rate_hz)
    assert 20 * np.log10(np.abs(response).max()) < -60


def test_filter_is_linear_phase_and_undelayed() -> None:
    """A symmetric kernel centred on the frame (closed form): a click stays; only the sides named are read."""
    kernel = design_band_limit(48000)
    np.testing.assert_allclose(kernel, kernel[::-1], atol=1e-15)
    click = np.zeros((1000, 2))
    click[500] = 1.0
    limited = limit_band(click, 48000)
    assert limited.shape == (1000, 2)
    np.testing.assert_allclose(limited[500 - 127 : 500 + 128, 0], kernel, atol=1e-12)
    side = band_limit_side_frames()
    assert np.abs(limited[: 500 - side + 1]).max() < 1e-12
    assert np.abs(limited[500 + side :]).max() < 1e-12


@pytest.mark.parametrize("frames", [1, 10, 254, 255, 2000])
def test_any_length_is_kept(frames: int) -> None:
    """Against numpy's convolution, cut to the input's length."""
    samples = noise(frames, 0.1, frames)
    wished = np.convolve(samples[:, 1], design_band_limit(48000))[127 : 127 + frames]
    np.testing.assert_allclose(limit_band(samples, 48000)[:, 1], wished, atol=1e-12)


def test_low_rates_are_left_alone() -> None:
    """Sampling theorem: at 32 kHz nothing lies above 16 kHz, so there is nothing to take."""
    samples = noise(500, 0.1, 1)
    np.testing.assert_array_equal(limit_band(samples, 32000), samples)
