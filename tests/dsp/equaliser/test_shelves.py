"""Shelves against the closed forms of the Audio EQ Cookbook."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import freqs, sosfreqz

from trainer.dsp.equaliser.prototypes import high_shelf_gain
from trainer.dsp.equaliser.shelves import design_high_shelf
from trainer.errors import BadValue

GAINS_DB = (-12.0, -6.0, -3.0, -1.0, -0.25, 0.25, 1.0, 3.0, 6.0, 12.0)
FREQUENCIES_HZ = np.geomspace(20.0, 20000.0, 300)


@pytest.mark.parametrize("corner_hz", [1000.0, 8000.0])
@pytest.mark.parametrize("gain_db", GAINS_DB)
def test_analogue_curve_is_the_cookbooks(corner_hz: float, gain_db: float) -> None:
    """W3C Audio EQ Cookbook, highShelf: H(s) = A (A s² + √A/Q s + 1) / (s² + √A/Q s + A), Q = 1/√2; scipy's freqs."""
    a = 10 ** (gain_db / 40)
    middle = np.sqrt(2 * a)
    _, response = freqs([a * a, a * middle, a], [1, middle, a], worN=FREQUENCIES_HZ / corner_hz)
    np.testing.assert_allclose(high_shelf_gain(FREQUENCIES_HZ, corner_hz, gain_db), np.abs(response), rtol=1e-9)


@pytest.mark.parametrize("gain_db", GAINS_DB)
def test_analogue_half_gain_and_plateau(gain_db: float) -> None:
    """W3C Audio EQ Cookbook: half of the gain in dB at the corner, all of it far above, none at 0 Hz; it only rises."""
    curve = 20 * np.log10(high_shelf_gain(np.array([0.0, 5000.0, 5e7]), 5000.0, gain_db))
    np.testing.assert_allclose(curve, [0.0, gain_db / 2, gain_db], atol=1e-6)
    steps = np.diff(high_shelf_gain(np.geomspace(10, 1e6, 500), 5000.0, gain_db)) * np.sign(gain_db)
    assert (steps > -1e-12).all()


def _worst_db(corner_hz: float, gain_db: float, rate_hz: int) -> float:
    sections = design_high_shelf(corner_hz, gain_db, rate_hz)
    _, response = sosfreqz(sections, worN=FREQUENCIES_HZ, fs=rate_hz)
    wished = high_shelf_gain(FREQUENCIES_HZ, corner_hz, gain_db)
    return float(np.abs(20 * np.log10(np.abs(response) / wished)).max())


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("corner_hz", [1000.0, 2000.0, 4000.0, 8000.0])
@pytest.mark.parametrize("gain_db", [-6.0, -3.0, -1.0, 1.0, 3.0, 6.0])
def test_digital_follows_analogue(corner_hz: float, gain_db: float, rate_hz: int) -> None:
    """Against the cookbook's analogue prototype, 20 Hz to 20 kHz: 0.03 dB up to 6 dB and 8 kHz."""
    assert _worst_db(corner_hz, gain_db, rate_hz) <= 0.03


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("corner_hz", [4000.0, 8000.0, 12000.0, 16000.0])
@pytest.mark.parametrize("gain_db", [-12.0, 12.0])
def test_large_shelves_stay_near(corner_hz: float, gain_db: float, rate_hz: int) -> None:
    """A second-order section cannot follow a curve through Nyquist: 0.1 dB of 12 is what is reached at the worst."""
    assert _worst_db(corner_hz, gain_db, rate_hz) <= 0.1


@pytest.mark.parametrize("corner_hz", [1000.0, 5000.0, 16000.0])
@pytest.mark.parametrize("gain_db", GAINS_DB)
def test_sections_are_stable(corner_hz: float, gain_db: float) -> None:
    """Poles inside the unit circle (numpy's roots), and early enough gone for a quarter of a second of run-up."""
    sections = design_high_shelf(corner_hz, gain_db, 44100)
    radius = np.abs(np.roots(sections[0, 3:])).max()
    assert 20 * np.log10(radius) * 0.25 * 44100 < -200


def test_boost_and_cut_cancel() -> None:
    """W3C Audio EQ Cookbook: shelves of +g and −g are inverse to each other."""
    up, down = (sosfreqz(design_high_shelf(8000.0, g, 48000), worN=FREQUENCIES_HZ, fs=48000)[1] for g in (6, -6))
    np.testing.assert_allclose(np.abs(up * down), 1.0, atol=2e-3)


def test_nothing_asked_is_nothing_done() -> None:
    """A gain of 0 dB is a filter of gain 1 (closed form)."""
    _, response = sosfreqz(design_high_shelf(8000.0, 0.0, 48000), worN=FREQUENCIES_HZ, fs=48000)
    np.testing.assert_allclose(response, 1.0, atol=1e-9)


def test_a_corner_near_nyquist_is_refused_in_one_line() -> None:
    """The contract of the docstring: at most 0.42 of the rate."""
    with pytest.raises(BadValue) as caught:
        design_high_shelf(16000.0, 3.0, 32000)
    assert "\n" not in str(caught.value)
