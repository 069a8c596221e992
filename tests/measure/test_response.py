"""The response read from two loops against scipy's frequency responses."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import butter, iirpeak, sosfilt, sosfreqz, tf2sos

from tests.measure.sounds import noise
from trainer.measure.response import measure_response, measure_third_octaves

RATE_HZ = 48000
# Two shapes without steep edges, so that the mean over a narrow band is the value at its middle.
GENTLE_FIR = tf2sos([0.6, 0.25, 0.05], [1.0, 0.0, 0.0])
PEAK = tf2sos(*iirpeak(2000.0, 2.0, fs=RATE_HZ))
BIQUAD = np.array([[1.5, -1.2, 0.4, 1.0, -1.0, 0.5]])


def _steady(sections: npt.NDArray[np.float64], loop: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Filter a loop round and round with scipy and keep the third round."""
    return np.asarray(sosfilt(sections, np.tile(loop, (3, 1)), axis=0))[2 * loop.shape[0] :]


def _gain_db(sections: npt.NDArray[np.float64], frequencies_hz: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.asarray(20 * np.log10(np.abs(sosfreqz(sections, worN=frequencies_hz, fs=RATE_HZ)[1])))


@pytest.mark.parametrize("sections", [GENTLE_FIR, BIQUAD], ids=["fir", "biquad"])
def test_gain_of_a_known_filter(sections: npt.NDArray[np.float64]) -> None:
    """Against scipy.signal.sosfreqz, 20 Hz to 20 kHz."""
    loop = noise(4 * RATE_HZ, 0.1, 1)
    response = measure_response(loop, _steady(sections, loop), RATE_HZ)
    assert response.frequencies_hz[0] < 21 and response.frequencies_hz[-1] > 19500
    np.testing.assert_allclose(response.gains_db, _gain_db(sections, response.frequencies_hz), atol=0.03)
    for frequency in (100.0, 1000.0, 5000.0, 15000.0):
        assert response.at(frequency) == pytest.approx(_gain_db(sections, np.array([frequency]))[0], abs=0.03)


def test_third_octaves_of_a_known_filter() -> None:
    """Against scipy.signal.sosfreqz: on noise of a fine, even spectrum, the power mean of |H|² over each band."""
    loop = np.zeros((2 * RATE_HZ, 2))
    loop[0] = 0.5
    bands = measure_third_octaves(loop, _steady(PEAK, loop), RATE_HZ)
    assert len(bands) == 31
    for centre, gain_db in bands:
        inside = np.linspace(centre * 10**-0.05, centre * 10**0.05, 400)
        mean = (10 ** (_gain_db(PEAK, inside) / 10)).mean()
        assert gain_db == pytest.approx(10 * np.log10(mean), abs=0.35 if centre < 50 else 0.05)


def test_a_gain_is_read_as_that_gain() -> None:
    """Closed form: half of the amplitude is −6.02 dB in every band, in both readings."""
    loop = noise(RATE_HZ, 0.1, 3)
    np.testing.assert_allclose(measure_response(loop, 0.5 * loop, RATE_HZ).gains_db, -6.0206, atol=1e-4)
    gains = [gain for _, gain in measure_third_octaves(loop, 0.5 * loop, RATE_HZ)]
    np.testing.assert_allclose(gains, -6.0206, atol=1e-4)


@pytest.mark.parametrize("rate_hz", [32000, 44100])
def test_bands_above_nyquist_are_left_out(rate_hz: int) -> None:
    """Sampling theorem: no sound at or above half of the rate."""
    loop = noise(rate_hz, 0.1, 4)
    centres = [centre for centre, _ in measure_third_octaves(loop, loop, rate_hz)]
    assert centres[-1] * 10**0.05 < rate_hz / 2
    assert measure_response(loop, loop, rate_hz).frequencies_hz[-1] < rate_hz / 2


def test_bands_without_sound_are_left_out() -> None:
    """A 90 dB quieter band cannot be read; a steep low-pass leaves none above (scipy's Butterworth, 10th order)."""
    sections = butter(10, 1000, fs=RATE_HZ, output="sos")
    loop = _steady(sections, noise(RATE_HZ, 0.1, 5))
    response = measure_response(loop, 0.5 * loop, RATE_HZ)
    assert response.frequencies_hz[-1] < 5000
    np.testing.assert_allclose(response.gains_db, -6.0206, atol=1e-3)


def test_silence_has_no_response() -> None:
    """Nothing to read gives no bands and no fault."""
    silence = np.zeros((RATE_HZ, 2))
    assert measure_response(silence, silence, RATE_HZ).gains_db.size == 0
    assert measure_third_octaves(silence, silence, RATE_HZ) == ()
