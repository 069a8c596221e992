"""Test signals against their closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.audio.signals import make_pink_noise, make_sine


@pytest.mark.parametrize("rate_hz", [44100, 48000])
def test_sine_has_its_peak_its_power_and_its_line(rate_hz: int) -> None:
    """A sine of peak A has power A²/2 (closed form), all of it in one line of a whole number of periods."""
    clip = make_sine(1000.0, -6.0, 1.0, rate_hz)
    wave = clip.samples.astype(np.float64)
    assert clip.frames == rate_hz
    assert 10 * np.log10((wave**2).mean()) == pytest.approx(-6.0 - 3.0103, abs=1e-3)
    spectrum = np.abs(np.fft.rfft(wave[:, 0])) / (rate_hz / 2)
    assert spectrum.argmax() == 1000
    assert 20 * np.log10(spectrum[1000]) == pytest.approx(-6.0, abs=1e-4)
    np.testing.assert_array_equal(clip.samples[:, 0], clip.samples[:, 1])


def test_pink_noise_falls_three_decibels_an_octave() -> None:
    """Pink noise has equal power in every octave (definition); 20 Hz is its lower end."""
    rate_hz, frames = 48000, 2**19
    noise = make_pink_noise(-20.0, frames, rate_hz, np.random.default_rng(1)).samples.astype(np.float64)
    np.testing.assert_allclose(10 * np.log10((noise**2).mean(axis=0)), -20.0, atol=1e-3)
    power = (np.abs(np.fft.rfft(noise, axis=0)) ** 2).sum(axis=1)
    frequencies = np.fft.rfftfreq(frames, 1 / rate_hz)
    edges = 40.0 * 2.0 ** np.arange(9)
    octaves = [power[(frequencies >= a) & (frequencies < 2 * a)].sum() for a in edges]
    levels = 10 * np.log10(octaves)
    # 40 to 80 Hz holds 870 random lines of two degrees each on both sides: standard deviation about 0.15 dB.
    assert np.ptp(levels) < 0.8
    assert power[frequencies < 19.0].sum() < 1e-9 * power.sum()


def test_pink_noise_is_reproducible_and_differs_between_sides() -> None:
    """The generator is an argument: equal seeds give equal noise; two sides are independent."""
    one = make_pink_noise(-20.0, 48000, 48000, np.random.default_rng(7)).samples
    two = make_pink_noise(-20.0, 48000, 48000, np.random.default_rng(7)).samples
    np.testing.assert_array_equal(one, two)
    assert abs(float(np.mean(one[:, 0] * one[:, 1]))) < 0.3 * 10**-2.0
