"""Drum hits found where they were put."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import butter, sosfreqz

from tests.measure.sounds import noise, sine
from trainer.measure.hits import (
    average_steps,
    cut_steps,
    find_hits,
    find_loudest_hits,
    measure_hits_over_song,
    pass_hit_band,
)
from trainer.measure.weighting import weight_k


def _clicks(places_s: tuple[float, ...], rate_hz: int, height: float = 0.5) -> npt.NDArray[np.float64]:
    """Put 5 ms bursts of 3 kHz on a quiet bed of noise."""
    samples = noise(4 * rate_hz, 0.005, 1)
    burst = sine(3000.0, height, rate_hz // 200, rate_hz)
    for place_s in places_s:
        first = round(place_s * rate_hz)
        samples[first : first + burst.shape[0]] += burst
    return samples


@pytest.mark.parametrize("rate_hz", [44100, 48000])
def test_clicks_are_found_at_their_places(rate_hz: int) -> None:
    """By construction: five clicks; a step is 10 ms, and a band filter may move the peak by one more."""
    places = (0.305, 0.905, 1.435, 2.515, 3.755)
    found = np.flatnonzero(find_hits(_clicks(places, rate_hz), rate_hz))
    assert found.size == 5
    np.testing.assert_allclose(found * 0.01, places, atol=0.0151)


def test_steady_sounds_hold_no_hits() -> None:
    """By construction: a sine and steady noise have no place 4 dB over the 400 ms around it."""
    assert not find_hits(sine(3000.0, 0.3, 96000, 48000, fade_s=0.3), 48000)[30:-30].any()
    assert not find_hits(noise(192000, 0.1, 2), 48000)[3:].any()
    assert not find_hits(np.zeros((48000, 2)), 48000).any()


def test_hits_outside_the_band_do_not_count() -> None:
    """By construction: bursts of 60 Hz, as of a kick, hold next to nothing between 1.5 and 5 kHz."""
    samples = noise(96000, 0.02, 3)
    samples[24000:48000] += sine(60.0, 0.3, 24000, 48000) * np.hanning(24000)[:, None]
    assert not find_hits(samples, 48000)[45:105].any()


def test_two_hits_are_at_least_150_ms_apart() -> None:
    """By construction: clicks 80 ms apart count once, clicks 200 ms apart twice."""
    assert find_hits(_clicks((1.005, 1.085), 48000), 48000).sum() == 1
    assert find_hits(_clicks((1.005, 1.205), 48000), 48000).sum() == 2


def test_band_is_that_of_a_butterworth_filter() -> None:
    """Against scipy.signal.sosfreqz: second-order edges at 1.5 and 5 kHz, 3.01 dB down."""
    impulse = np.zeros((48000, 2))
    impulse[0] = 1.0
    gain = np.abs(np.fft.rfft(pass_hit_band(impulse, 48000)[:, 0]))
    sections = butter(2, (1500, 5000), "bandpass", fs=48000, output="sos")
    _, wished = sosfreqz(sections, worN=np.arange(24001), fs=48000)
    np.testing.assert_allclose(gain, np.abs(wished), atol=1e-6)
    assert 20 * np.log10(gain[[1500, 5000]]) == pytest.approx([-3.0103, -3.0103], abs=0.001)


def test_steps_are_10_ms_of_both_sides() -> None:
    """Closed form: a constant of 0.5 on both sides has a power of 2 · 0.25; a last part step is filled with zeros."""
    power = average_steps(np.full((480 * 3 + 240, 2), 0.5), 48000)
    np.testing.assert_allclose(power, [0.5, 0.5, 0.5, 0.25])
    assert cut_steps(np.ones(441), 44100).shape == (1, 441)


def test_a_gain_on_the_hits_shows_as_that_gain() -> None:
    """By construction: clicks 6.02 dB lower over an equal bed of tone stand 6.02 dB less over the song."""
    bed = sine(200.0, 0.02, 4 * 48000, 48000)
    tall, low = (bed + _clicks((0.5, 1.5, 2.5), 48000, h) for h in (0.8, 0.4))
    hits = find_hits(tall, 48000)
    assert hits.sum() == 3
    level = [10 * np.log10(float((weight_k(s, 48000) ** 2).sum(axis=1).mean())) for s in (tall, low)]
    was, became = (measure_hits_over_song(s, 48000, hits) for s in (tall, low))
    assert was is not None and became is not None
    assert (was + level[0]) - (became + level[1]) == pytest.approx(6.02, abs=0.3)
    # A gain on everything moves hits and song alike.
    assert measure_hits_over_song(0.1 * tall, 48000, hits) == pytest.approx(was, abs=1e-6)
    assert measure_hits_over_song(tall, 48000, np.zeros_like(hits)) is None


def test_the_loudest_hits_are_the_highest_peaks() -> None:
    """By construction: four seconds hold four; of two peaks 50 ms apart the higher counts; silence holds none."""
    samples = noise(4 * 48000, 0.001, 4)
    for place_s, height in ((0.305, 0.9), (0.355, 0.8), (1.505, 0.5), (2.505, 0.6), (3.505, 0.7), (3.805, 0.2)):
        samples[round(place_s * 48000)] += height
    found = np.flatnonzero(find_loudest_hits(samples, 48000))
    assert found.tolist() == [30, 150, 250, 350]
    assert not find_loudest_hits(np.zeros((48000, 2)), 48000).any()
