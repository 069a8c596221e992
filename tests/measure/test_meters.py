"""The slow meter of the tests is itself held to closed forms, so that it can judge others."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.meters import ffmpeg_dbtp, long_dbtp_of_loop
from tests.measure.sounds import noise, sine


@pytest.mark.parametrize(("periods", "phase_deg"), [(12000, 45), (8000, 60), (6000, 67.5), (19000, 11), (20000, 3)])
def test_long_reading_of_a_sine_is_its_amplitude(periods: int, phase_deg: float) -> None:
    """Closed form: the highest point of a sine is its amplitude, wherever the samples fall."""
    loop = sine(periods, 0.5, 48000, 48000, phase_deg)
    # 16 phases may miss a peak by cos(pi f / 16 fs): 0.029 dB at 20 kHz.
    assert long_dbtp_of_loop(loop) == pytest.approx(-6.0206, abs=0.03)


def test_long_reading_of_noise_is_that_of_its_fourier_series() -> None:
    """A periodic band-limited wave is its Fourier series: zero-padding the spectrum gives it exactly."""
    rng = np.random.default_rng(5)
    spectrum = np.fft.rfft(noise(4800, 0.2, 5)[:, 0])
    spectrum[2100:] = 0  # 21 kHz at 48 kHz
    wave = np.fft.irfft(spectrum, n=4800)
    exact = np.abs(np.fft.irfft(spectrum, n=4800 * 16) * 16).max()
    loop = np.stack([np.roll(wave, int(rng.integers(4800))), 0.5 * wave], axis=1)
    assert long_dbtp_of_loop(loop) == pytest.approx(20 * np.log10(exact), abs=0.005)


def test_ffmpeg_is_read_aright() -> None:
    """EBU Tech 3341, case 16: −6.0 dBTP on ffmpeg to its one decimal."""
    assert ffmpeg_dbtp(sine(12000, 0.5, 48000, 48000, 45, fade_s=0.01), 48000) == pytest.approx(-6.0, abs=0.1)
