"""The long-term spectrum and what is read from it, against closed forms, scipy and coders."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile
from scipy.signal import firwin, lfilter, welch

from tests.measure.sounds import noise, sine
from trainer.files.library import list_demo_songs
from trainer.measure.bandwidth import find_bandwidth
from trainer.measure.spectrum import LongTermSpectrum, SpectrumMeter


def read_spectrum(wave: np.ndarray, rate_hz: int) -> LongTermSpectrum:
    """Read a sound, shape (frames, channels), in blocks of 5 s."""
    meter = SpectrumMeter(rate_hz, wave.shape[1])
    for first in range(0, wave.shape[0], 5 * rate_hz):
        meter.add(np.ascontiguousarray(wave[first : first + 5 * rate_hz].T, dtype=np.float32))
    return meter.finish()


@pytest.mark.parametrize("rate_hz", [44100, 48000, 96000])
@pytest.mark.parametrize("frequency_hz", [19.953, 31.623, 125.89, 1000.0, 3981.07, 10000.0])
def test_a_sine_stands_in_its_third_octave(frequency_hz: float, rate_hz: int) -> None:
    """Closed form: a sine's mean square is half its peak's, −9.03 dB for 0.5, in the band of its exact centre."""
    bands = dict(read_spectrum(sine(frequency_hz, 0.5, 12 * rate_hz, rate_hz), rate_hz).third_octaves)
    tallest = max((level, centre) for centre, level in bands.items() if level is not None)
    assert tallest[1] == pytest.approx(frequency_hz, rel=1e-4)
    assert tallest[0] == pytest.approx(-9.031, abs=0.03)
    others = [level for centre, level in bands.items() if centre != tallest[1] and level is not None]
    assert max(others) < -9 - (18 if frequency_hz < 25 else 30)


def test_white_noise_has_the_power_of_each_bandwidth() -> None:
    """Closed form: of white noise a band holds its share of the Nyquist range; 60 s leave 0.4 dB of chance."""
    wave = noise(60 * 48000, 0.1, 2)
    for centre, level in read_spectrum(wave, 48000).third_octaves:
        if centre > 100:
            width = centre * (10**0.05 - 10**-0.05)
            assert level == pytest.approx(-20 + 10 * np.log10(width / 24000), abs=0.4)


def test_lines_are_those_of_scipys_welch() -> None:
    """Against scipy.signal.welch with a Hann window and half overlap: power density times the width of a line."""
    wave = noise(10 * 48000, 0.1, 3)
    spectrum = read_spectrum(wave, 48000)
    length = 2 * (spectrum.power.shape[1] - 1)
    _, density = welch(wave[:, 0], 48000, "hann", length, detrend=False)
    np.testing.assert_allclose(spectrum.power[0, 2:-2], density[2:-2] * spectrum.width_hz, rtol=2e-3)
    assert 10 * np.log10(spectrum.power[0].sum()) == pytest.approx(-20.0, abs=0.1)


def test_correlation_of_the_bass() -> None:
    """By construction: below 150 Hz the sides are opposite, above it alike."""
    wave = sine(80.0, 0.2, 5 * 48000, 48000) * [1.0, -1.0] + sine(600.0, 0.3, 5 * 48000, 48000)
    assert read_spectrum(wave, 48000).bass_correlation == pytest.approx(-1.0, abs=0.01)
    assert read_spectrum(wave * [1.0, 0.0], 48000).bass_correlation is None
    both = noise(20 * 48000, 0.1, 4)
    assert read_spectrum(both, 48000).bass_correlation == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("corner_hz", [11000, 16000, 18500])
@pytest.mark.parametrize("rate_hz", [44100, 48000])
def test_a_steep_low_pass_is_the_end_of_the_band(corner_hz: int, rate_hz: int) -> None:
    """By construction: noise through a linear-phase low-pass of 255 taps ends at its corner, within 300 Hz."""
    wave = lfilter(firwin(255, corner_hz, fs=rate_hz), 1.0, noise(10 * rate_hz, 0.1, 5), axis=0)
    found = find_bandwidth(read_spectrum(wave, rate_hz))
    assert found is not None and found.cliff_db > 30
    assert found.highest_hz == pytest.approx(corner_hz, abs=300)


def test_a_song_has_no_cliff_until_it_is_coded() -> None:
    """libsndfile's MP3 coder at about 128 kb/s: its low-pass leaves an edge near 16 to 17 kHz; FLAC leaves none."""
    entry = list_demo_songs()[0]
    samples, rate_hz = soundfile.read(entry.path, frames=30 * 48000, start=20 * 48000, dtype="float32")
    whole = find_bandwidth(read_spectrum(samples, rate_hz))
    assert whole is not None and whole.cliff_db == 0.0 and whole.highest_hz > 21000
    coded = io.BytesIO()
    soundfile.write(coded, samples, rate_hz, format="MP3", bitrate_mode="CONSTANT", compression_level=0.67)
    coded.seek(0)
    found = find_bandwidth(read_spectrum(soundfile.read(coded)[0], rate_hz))
    assert found is not None and found.cliff_db > 18 and 15000 < found.highest_hz < 18000


def test_a_gentle_roll_off_is_no_cliff() -> None:
    """By construction: pink-like noise, 6 dB an octave down throughout, goes on to Nyquist."""
    wave = lfilter([1.0], [1.0, -0.97], noise(10 * 48000, 0.01, 6), axis=0)
    found = find_bandwidth(read_spectrum(wave, 48000))
    assert found is not None and found.cliff_db == 0.0 and found.highest_hz > 23500


def test_silence_and_short_sounds() -> None:
    """Nothing has no level and no end; a tenth of a second is read with silence behind it."""
    spectrum = read_spectrum(np.zeros((48000, 2)), 48000)
    assert find_bandwidth(spectrum) is None and spectrum.bass_correlation is None
    assert {level for _, level in spectrum.third_octaves} == {None}
    assert len(read_spectrum(noise(4800, 0.1, 7), 48000).third_octaves) == 31
    assert len(read_spectrum(noise(8000, 0.1, 7), 8000).third_octaves) == 23
