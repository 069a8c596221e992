"""The analogue curves against their transfer functions and their known points."""

from __future__ import annotations

import numpy as np
import pytest

from tests.dsp.equaliser.analogue import bell_db, high_pass_db, shelf_db
from trainer.dsp.equaliser.prototypes import bell_gain, high_pass_gain, high_shelf_gain, low_shelf_gain, tilt_gain

GAINS_DB = (-12.0, -3.0, -0.25, 1.0, 6.0, 12.0)
FREQUENCIES_HZ = np.geomspace(5.0, 24000.0, 400)


def _db(gain: np.ndarray) -> np.ndarray:
    return np.asarray(20 * np.log10(gain))


@pytest.mark.parametrize("gain_db", GAINS_DB)
@pytest.mark.parametrize("corner_hz", [60.0, 1000.0, 8000.0])
def test_shelves_are_the_cookbooks(corner_hz: float, gain_db: float) -> None:
    """W3C Audio EQ Cookbook, lowShelf and highShelf, read by scipy.signal.freqs; half of the dB at the corner."""
    for kind, gain in (("low_shelf", low_shelf_gain), ("high_shelf", high_shelf_gain)):
        curve = _db(gain(FREQUENCIES_HZ, corner_hz, gain_db))
        np.testing.assert_allclose(curve, shelf_db(kind, FREQUENCIES_HZ, corner_hz, gain_db), atol=1e-9)
        assert _db(gain(np.array([corner_hz]), corner_hz, gain_db))[0] == pytest.approx(gain_db / 2, abs=1e-9)


@pytest.mark.parametrize("gain_db", GAINS_DB)
def test_a_low_shelf_has_its_gain_at_the_bottom_only(gain_db: float) -> None:
    """W3C Audio EQ Cookbook: all of the gain at 0 Hz, none far above."""
    curve = _db(low_shelf_gain(np.array([0.0, 1e6]), 100.0, gain_db))
    np.testing.assert_allclose(curve, [gain_db, 0.0], atol=1e-6)


@pytest.mark.parametrize("gain_db", GAINS_DB)
@pytest.mark.parametrize("q", [0.3, 0.7, 6.0])
def test_bells_are_the_cookbooks(q: float, gain_db: float) -> None:
    """W3C Audio EQ Cookbook, peakingEQ by scipy.signal.freqs; Q: centre over width between half-gain points."""
    np.testing.assert_allclose(
        _db(bell_gain(FREQUENCIES_HZ, 1000.0, gain_db, q)), bell_db(FREQUENCIES_HZ, 1000.0, gain_db, q), atol=1e-9
    )
    half = np.sqrt(1 + 1 / (4 * q * q))
    edges = 1000.0 * np.array([half - 1 / (2 * q), half + 1 / (2 * q)])
    np.testing.assert_allclose(_db(bell_gain(edges, 1000.0, gain_db, q)), gain_db / 2, atol=1e-9)
    assert edges[1] - edges[0] == pytest.approx(1000.0 / q)


def test_a_tilt_is_a_straight_line() -> None:
    """Closed form: nothing at the pivot, all of it between 20 Hz and 20 kHz, the same in each octave."""
    curve = _db(tilt_gain(np.array([20.0, 500.0, 1000.0, 2000.0, 20000.0]), 1000.0, 6.0))
    assert curve[4] - curve[0] == pytest.approx(6.0)
    assert curve[2] == 0.0
    assert curve[3] == pytest.approx(6.0 / np.log2(1000)) == pytest.approx(-curve[1])


@pytest.mark.parametrize("order", [2, 4])
def test_high_passes_are_butterworths(order: int) -> None:
    """scipy's analogue Butterworth; 1/√2 at the cut-off (definition)."""
    curve = _db(high_pass_gain(FREQUENCIES_HZ, 30.0, order))
    np.testing.assert_allclose(curve, high_pass_db(FREQUENCIES_HZ, 30.0, order), atol=1e-9)
    assert high_pass_gain(np.array([30.0]), 30.0, order)[0] == pytest.approx(np.sqrt(0.5))


def test_low_e_loses_what_the_definition_says() -> None:
    """Butterworth's definition at 20 Hz, second order: A0 27.5 Hz −1.1 dB, B0 −0.7 dB, low E 41.2 Hz −0.2 dB."""
    curve = _db(high_pass_gain(np.array([27.5, 30.87, 41.2]), 20.0, 2))
    np.testing.assert_allclose(curve, [-1.1, -0.7, -0.2], atol=0.06)
