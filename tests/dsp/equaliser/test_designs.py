"""Digital filters against the analogue ones: bells, low shelves, tilts and high-passes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import sosfreqz

from tests.dsp.equaliser.analogue import bell_db, high_pass_db, shelf_db, tilt_db
from trainer.dsp.equaliser.bells import design_bell
from trainer.dsp.equaliser.high_passes import design_high_pass
from trainer.dsp.equaliser.shelves import design_high_shelf, design_low_shelf
from trainer.dsp.equaliser.tilts import design_tilt
from trainer.errors import BadValue

RATES_HZ = (44100, 48000)
FREQUENCIES_HZ = np.geomspace(20.0, 20000.0, 300)
TO_10_KHZ = FREQUENCIES_HZ <= 10000.0


def _read_db(
    sections: npt.NDArray[np.float64], rate_hz: int, frequencies_hz: np.ndarray = FREQUENCIES_HZ
) -> np.ndarray:
    _, response = sosfreqz(sections, worN=frequencies_hz, fs=rate_hz)
    return np.asarray(20 * np.log10(np.abs(response)))


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("gain_db", [-12.0, -6.0, 1.0, 6.0, 12.0])
@pytest.mark.parametrize("centre_hz", [30.0, 100.0, 1000.0, 4000.0, 8000.0, 10000.0, 12000.0, 14000.0, 16000.0])
def test_bells_follow_the_analogue_ones(centre_hz: float, gain_db: float, rate_hz: int) -> None:
    """Against the W3C Audio EQ Cookbook's peakingEQ: 0.1 dB to 10 kHz and 0.6 dB to 20 kHz, at any Q."""
    for q in (0.3, 0.5, 0.7, 1.0, 2.0, 4.0, 6.0):
        miss = np.abs(
            _read_db(design_bell(centre_hz, gain_db, q, rate_hz), rate_hz)
            - bell_db(FREQUENCIES_HZ, centre_hz, gain_db, q)
        )
        assert miss[TO_10_KHZ].max() <= 0.1
        assert miss.max() <= 0.6


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("corner_hz", [30.0, 60.0, 100.0, 250.0, 1000.0])
@pytest.mark.parametrize("gain_db", [-12.0, -3.0, 0.25, 12.0])
def test_low_shelves_follow_the_analogue_ones(gain_db: float, corner_hz: float, rate_hz: int) -> None:
    """Against the W3C Audio EQ Cookbook's lowShelf: 0.001 dB from 5 Hz to 20 kHz."""
    frequencies = np.geomspace(5.0, 20000.0, 300)
    miss = _read_db(design_low_shelf(corner_hz, gain_db, rate_hz), rate_hz, frequencies)
    assert np.abs(miss - shelf_db("low_shelf", frequencies, corner_hz, gain_db)).max() <= 0.001


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("rise_db", [-12.0, -1.0, 3.0, 6.0])
@pytest.mark.parametrize("pivot_hz", [200.0, 1000.0, 5000.0])
def test_tilts_are_close_to_a_line(pivot_hz: float, rise_db: float, rate_hz: int) -> None:
    """Against the straight line, 20 Hz to 20 kHz: 0.01 dB for each dB; nothing at the pivot."""
    sections = design_tilt(pivot_hz, rise_db, rate_hz)
    miss = _read_db(sections, rate_hz) - tilt_db(FREQUENCIES_HZ, pivot_hz, rise_db)
    assert np.abs(miss).max() <= 0.01 * abs(rise_db)
    assert _read_db(sections, rate_hz, np.array([pivot_hz]))[0] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("order", [2, 4])
@pytest.mark.parametrize("cutoff_hz", [10.0, 20.0, 40.0, 60.0, 120.0])
def test_high_passes_are_the_analogue_ones(cutoff_hz: float, order: int, rate_hz: int) -> None:
    """Against scipy's analogue Butterworth, 5 Hz and up: 0.001 dB."""
    frequencies = np.geomspace(5.0, 20000.0, 400)
    miss = _read_db(design_high_pass(cutoff_hz, order, rate_hz), rate_hz, frequencies)
    assert np.abs(miss - high_pass_db(frequencies, cutoff_hz, order)).max() <= 0.001


@pytest.mark.parametrize("rate_hz", [22050, 44100, 96000, 192000])
def test_sections_are_stable_and_of_minimum_phase(rate_hz: int) -> None:
    """Roots of every numerator and denominator (numpy's roots) lie inside the unit circle."""
    designs = [
        *(design_bell(f, g, q, rate_hz) for f in (30.0, 9000.0) for g in (-12.0, 12.0) for q in (0.3, 6.0)),
        *(design_low_shelf(f, g, rate_hz) for f in (30.0, 1000.0) for g in (-12.0, 12.0)),
        *(design_high_shelf(f, g, rate_hz) for f in (1000.0, 9000.0) for g in (-12.0, 12.0)),
        *(design_tilt(1000.0, g, rate_hz) for g in (-12.0, 12.0)),
    ]
    for section in np.concatenate(designs):
        assert np.abs(np.roots(section[:3])).max() < 1
        assert np.abs(np.roots(section[3:])).max() < 1


@pytest.mark.parametrize("rate_hz", [22050, 96000, 192000])
def test_other_rates_are_no_worse(rate_hz: int) -> None:
    """Against the analogue curves up to 0.45 of the rate or 20 kHz: 0.2 dB of 6."""
    frequencies = np.geomspace(20.0, min(20000.0, 0.45 * rate_hz), 300)
    for place_hz in (100.0, 1000.0, 8000.0):
        bell = _read_db(design_bell(place_hz, 6.0, 1.0, rate_hz), rate_hz, frequencies)
        assert np.abs(bell - bell_db(frequencies, place_hz, 6.0, 1.0)).max() <= 0.2
        shelf = _read_db(design_high_shelf(place_hz, 6.0, rate_hz), rate_hz, frequencies)
        assert np.abs(shelf - shelf_db("high_shelf", frequencies, place_hz, 6.0)).max() <= 0.2
    tilt = _read_db(design_tilt(1000.0, 6.0, rate_hz), rate_hz, frequencies)
    assert np.abs(tilt - tilt_db(frequencies, 1000.0, 6.0)).max() <= 0.06


def test_boost_and_cut_cancel() -> None:
    """W3C Audio EQ Cookbook: +g and −g are inverse to each other; here also as digital filters."""
    for one, other in (
        (design_bell(9000.0, 6.0, 0.7, 48000), design_bell(9000.0, -6.0, 0.7, 48000)),
        (design_low_shelf(90.0, 6.0, 48000), design_low_shelf(90.0, -6.0, 48000)),
        (design_tilt(700.0, 6.0, 48000), design_tilt(700.0, -6.0, 48000)),
    ):
        np.testing.assert_allclose(_read_db(np.concatenate([one, other]), 48000), 0.0, atol=1e-6)


def test_a_low_shelf_down_is_a_high_shelf_up() -> None:
    """W3C Audio EQ Cookbook (arithmetic): −3 dB below a corner and +3 dB above it are 3 dB apart everywhere."""
    low, high = (
        _read_db(design(1000.0, g, 48000), 48000) for design, g in ((design_low_shelf, -3.0), (design_high_shelf, 3.0))
    )
    np.testing.assert_allclose(high - low, 3.0, atol=1e-6)


def test_nothing_asked_is_nothing_done() -> None:
    """A gain of 0 dB is a section that passes everything (closed form)."""
    for sections in (
        design_bell(100.0, 0.0, 1.0, 48000),
        design_low_shelf(90.0, 0.0, 48000),
        design_tilt(700.0, 0.0, 48000),
    ):
        np.testing.assert_array_equal(sections, [[1, 0, 0, 1, 0, 0]])


def test_places_too_high_for_the_rate_are_refused_in_one_line() -> None:
    """The contracts of the docstrings."""
    designs: tuple[Callable[[], object], ...] = (
        lambda: design_bell(16000.0, 3.0, 1.0, 32000),
        lambda: design_low_shelf(16000.0, 3.0, 32000),
        lambda: design_high_pass(120.0, 2, 22050),
    )
    for design in designs:
        with pytest.raises(BadValue) as caught:
            design()
        assert "\n" not in str(caught.value)
