"""Change of rate against sines in closed form."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from trainer.audio.clip import Clip
from trainer.audio.resampling import choose_working_rate, resample_clip


def _sine(frequency_hz: float, frames: int, rate_hz: int) -> npt.NDArray[np.float64]:
    wave = 0.5 * np.sin(2 * np.pi * frequency_hz * np.arange(frames) / rate_hz + 0.3)
    return np.repeat(wave[:, None], 2, axis=1)


def _clip(wave: npt.NDArray[np.float64], rate_hz: int) -> Clip:
    return Clip(wave.astype(np.float32), rate_hz)


@pytest.mark.parametrize(("source", "target"), [(44100, 48000), (48000, 44100)])
@pytest.mark.parametrize("frequency_hz", [50.0, 997.0, 5000.0, 12000.0, 16000.0, 18000.0, 19000.0])
def test_error_of_a_sine_is_below_120_db(source: int, target: int, frequency_hz: float) -> None:
    """Closed form: the same sine, sampled at the other rate. Edges are left out.

    The error is counted against the sine, and the sine is given at the precision of the clip's own float32.
    """
    converted = resample_clip(_clip(_sine(frequency_hz, source // 4, source), source), target).samples
    wished = _sine(frequency_hz, converted.shape[0], target)
    inside = slice(target // 100, -target // 100)
    error = (converted - wished)[inside]
    ratio_db = 10 * np.log10((error**2).mean() / (wished[inside] ** 2).mean())
    assert ratio_db < -120.0


def test_what_would_fold_is_taken_out() -> None:
    """23 kHz is above the Nyquist frequency of 44.1 kHz (sampling theorem): next to nothing may be left."""
    converted = resample_clip(_clip(_sine(23000.0, 12000, 48000), 48000), 44100).samples.astype(np.float64)
    left = converted[441:-441]
    assert 10 * np.log10((left**2).mean() / 0.125) < -110.0


def test_images_are_taken_out() -> None:
    """A 19 kHz sine at 44.1 kHz has its first image at 25.1 kHz, which would fold to 22.9 kHz at 48 kHz."""
    converted = resample_clip(_clip(_sine(19000.0, 44100, 44100), 44100), 48000).samples[:, 0]
    part = converted[2400:-2400].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(part * np.blackman(part.size) ** 2))
    frequencies = np.fft.rfftfreq(part.size, 1 / 48000)
    image = spectrum[np.abs(frequencies - 22900) < 300].max()
    assert 20 * np.log10(image / spectrum.max()) < -110.0


@pytest.mark.parametrize(
    ("source", "target", "frames"), [(44100, 48000, 44100), (48000, 44100, 10001), (96000, 48000, 777)]
)
def test_length_is_rounded_up(source: int, target: int, frames: int) -> None:
    """Closed form: ceil(frames · target / source), in whole numbers."""
    clip = Clip(np.zeros((frames, 2), np.float32), source)
    converted = resample_clip(clip, target)
    assert converted.frames == -(-frames * target // source)
    assert converted.rate_hz == target


def test_the_same_rate_gives_the_clip_itself() -> None:
    """Nothing to do must change nothing."""
    clip = _clip(_sine(1000.0, 1000, 48000), 48000)
    assert resample_clip(clip, 48000) is clip


def test_level_and_place_of_a_click_are_kept() -> None:
    """Sampling theorem: a band-limited pulse keeps its place in time and its area in seconds."""
    frames, source, target = 4410, 44100, 48000
    time = (np.arange(frames) - 2205) / source
    pulse = np.repeat((np.sinc(8000 * time) ** 2)[:, None], 2, axis=1)
    converted = resample_clip(_clip(0.5 * pulse, source), target).samples[:, 0].astype(np.float64)
    there = (np.arange(converted.size) / target) - 2205 / source
    np.testing.assert_allclose(converted, 0.5 * np.sinc(8000 * there) ** 2, atol=2e-6)


@pytest.mark.parametrize(
    ("rate_hz", "wished"),
    [
        (44100, 44100), (48000, 48000), (88200, 44100), (96000, 48000), (176400, 44100), (192000, 48000),
        (22050, 44100), (32000, 48000),
    ],
)  # fmt: skip
def test_rates_go_to_their_own_family(rate_hz: int, wished: int) -> None:
    """Common practice, no source: multiples of 44.1 kHz to 44.1 kHz, of 8 kHz to 48 kHz."""
    assert choose_working_rate(rate_hz) == wished
