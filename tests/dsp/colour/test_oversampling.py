"""The way up and down: flat in the band, clean beyond it, in step, and the same in any blocks."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import upfirdn

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.colour.bend import Bend
from trainer.dsp.colour.ceilings import SoftClip, begin_hard_clip
from trainer.dsp.colour.oversampling import BETA, Beside, Oversampler, begin_added
from trainer.dsp.colour.saturation import begin_bend
from trainer.dsp.processor import Processor, run_round, run_through

Wave = npt.NDArray[np.float64]
LINES = 1 << 17


def _db(values: npt.ArrayLike) -> Wave:
    return np.asarray(20 * np.log10(np.maximum(np.abs(values), 1e-12)))


@lru_cache(maxsize=2)
def _noise_below(limit_hz: float, rate_hz: int, frames: int = 48001) -> Wave:
    """Make noise, periodic, that ends at a frequency."""
    lines = np.fft.rfft(noise(frames, 0.2, 3)[:, 0])
    lines[np.fft.rfftfreq(frames, 1 / rate_hz) > limit_hz] = 0
    return np.asarray(np.fft.irfft(lines, frames))


@pytest.mark.parametrize("rate_hz", [44100, 48000, 96000])
@pytest.mark.parametrize("factor", [4, 8])
def test_the_band_is_flat_to_20_khz_and_images_are_gone(factor: int, rate_hz: int) -> None:
    """By definition of interpolation, from the FFT of a click: 1 to 20 kHz, nothing from rate − 20 kHz up."""
    click = np.zeros(2049)
    click[1024] = 1.0
    ways = Oversampler(factor, rate_hz)
    raised = ways.raise_rate(click)
    up = np.abs(np.fft.rfft(raised.T.reshape(-1).astype(float), factor * LINES)) / factor
    up_hz = np.fft.rfftfreq(factor * LINES, 1 / (rate_hz * factor))
    assert np.abs(_db(up[up_hz <= 20000])).max() < 0.0006
    assert _db(up[up_hz >= rate_hz - 20000]).max() < -95
    both = np.abs(np.fft.rfft(ways.lower_rate(raised).astype(float), LINES))
    assert np.abs(_db(both[np.fft.rfftfreq(LINES, 1 / rate_hz) <= 20000])).max() < 0.0006


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("factor", [4, 8])
def test_up_and_down_gives_the_sound_back(factor: int, rate_hz: int) -> None:
    """The identity, on noise that ends at 18 kHz: what is left is 100 dB below it, without any delay."""
    sound = _noise_below(18000.0, rate_hz)
    ways = Oversampler(factor, rate_hz)
    back = ways.lower_rate(ways.raise_rate(sound))
    inside = slice(200, -200)
    assert _db((back - sound)[inside].std() / sound[inside].std()) <= -100


def test_single_precision_is_as_good_as_double() -> None:
    """Against scipy.signal.upfirdn in float64 with the window written out here: within 1e-3 dB, and −120 dB."""
    factor, taps = 4, 40
    sound = _noise_below(18000.0, 48000)[:5000]
    distance = np.arange(-taps // 2 * factor + 1, taps // 2 * factor) / factor
    kernel = np.sinc(distance) * np.i0(BETA * np.sqrt(1 - (distance / (taps / 2)) ** 2)) / np.i0(BETA)
    exact = upfirdn(kernel, sound, up=factor)[taps // 2 * factor - 1 :][: factor * sound.size]
    ours = Oversampler(factor, 48000).raise_rate(sound).T.reshape(-1).astype(float)
    inside = slice(200, -200)
    # Each phase here is scaled to pass a constant, which the plain window does to some 1e-6.
    assert np.abs(ours - exact)[inside].max() < 10 ** (-100 / 20) * np.abs(exact).max()
    assert abs(_db(ours[inside].std() / exact[inside].std())) < 1e-3


def test_between_the_samples_lies_the_wave() -> None:
    """A sine's own values at quarter samples."""
    phase = 2 * np.pi * 5000.0 / 48000
    raised = Oversampler(4, 48000).raise_rate(np.sin(phase * np.arange(600)))
    for row in range(4):
        wished = np.sin(phase * (np.arange(600) + row / 4))
        np.testing.assert_allclose(raised[row, 100:500], wished[100:500], atol=3e-5)


def _make(name: str, rate_hz: int = 48000) -> Processor:
    if name == "bend":
        return begin_bend(Bend(2.0, 0.3), rate_hz)
    return SoftClip(-12.0, rate_hz) if name == "soft" else begin_hard_clip(-12.0, rate_hz)


@pytest.mark.parametrize("name", ["bend", "soft", "hard"])
@pytest.mark.parametrize("block_frames", [997, 4096])
def test_any_block_size_gives_the_same(name: str, block_frames: int) -> None:
    """By definition of carried state: within −140 dB of full scale, which is the last bit of the samples."""
    song = Clip(music_like(48000, 48000, 1).astype(np.float32), 48000)
    whole = run_through(_make(name), song, 10**9).samples.astype(float)
    blocks = run_through(_make(name), song, block_frames).samples.astype(float)
    assert np.abs(whole - song.samples).max() > 0.01
    assert np.abs(whole - blocks).max() <= 10 ** (-140 / 20)


@pytest.mark.parametrize("name", ["bend", "soft", "hard"])
def test_single_frames_and_odd_rates_will_do(name: str) -> None:
    """The smallest block there is, and rates from 22.05 to 192 kHz: finite, and in step."""
    for rate_hz in (22050, 32000, 48000, 192000):
        song = Clip(noise(400, 0.3, 2).astype(np.float32), rate_hz)
        whole = run_through(_make(name, rate_hz), song).samples
        assert np.isfinite(whole).all()
        np.testing.assert_allclose(run_through(_make(name, rate_hz), song, 1).samples, whole, atol=1e-6)


def test_what_is_below_the_corner_is_left_bit_for_bit() -> None:
    """Contract of the docstrings: below the clip point, and 6 dB below the soft one, the samples themselves."""
    song = Clip((music_like(48000, 48000, 1) * 0.1).astype(np.float32), 48000)
    for processor in (SoftClip(0.0, 48000), begin_hard_clip(-3.0, 48000)):
        np.testing.assert_array_equal(run_through(processor, song, 5000).samples, song.samples)


@pytest.mark.parametrize(("drive", "bias"), [(1.0, 0.0), (1.0, 0.3), (0.5, 0.5)])
@pytest.mark.parametrize("sine_hz", [1499, 4999, 9973])
def test_aliases_are_100_db_down(sine_hz: int, drive: float, bias: float) -> None:
    """From the FFT of a rendered sine of −1 dBFS, 4 times: no line but its harmonics within 100 dB, to 20 kHz.

    The sine's frequency divides nothing of the rate, so no alias falls on a harmonic.
    """
    phase = 2 * np.pi * sine_hz * np.arange(48000) / 48000
    wave = 10 ** (-1 / 20) * np.sin(phase)
    sine = Clip(np.repeat(wave[:, None], 2, axis=1).astype(np.float32), 48000)
    bent = run_round(lambda: Beside(begin_added(Bend(drive, bias).write_added, 4, 48000)), sine, 4800)
    lines = _db(np.fft.rfft(bent.samples[:, 0].astype(float)))[:20001]
    level = lines[sine_hz]
    lines[::sine_hz] = -np.inf
    assert lines.max() - level <= -100
