"""Blocks with carried state give what the whole gives."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.limiter import Limiter
from trainer.dsp.processor import Chain, Delay, Overlapped, Processor, SectionFilter, run_round, run_through

RATE_HZ = 48000
SECTIONS = np.asarray(butter(4, 200.0, "highpass", fs=RATE_HZ, output="sos"))


def _smooth(rows: np.ndarray) -> np.ndarray:
    """Average five frames, two on either side."""
    return np.stack([np.convolve(row, np.ones(5) / 5, "same") for row in rows])


def _make(name: str) -> Processor:
    if name == "filter":
        return SectionFilter(SECTIONS)
    if name == "delay":
        return Delay(37)
    if name == "overlapped":
        return Overlapped(_smooth, 2, 64)
    if name == "limiter":
        return Limiter().begin({"drive_db": 12.0}, RATE_HZ)
    return Chain((Delay(5), SectionFilter(SECTIONS), Overlapped(_smooth, 3, 16)))


@pytest.mark.parametrize("name", ["filter", "delay", "overlapped", "chain", "limiter"])
@pytest.mark.parametrize("block_frames", [1000, 4096, 70001])
def test_any_block_size_gives_the_same(name: str, block_frames: int) -> None:
    """By definition of carried state: within −140 dB of the whole file at once."""
    song = Clip(music_like(100000, RATE_HZ, 1).astype(np.float32), RATE_HZ)
    whole = run_through(_make(name), song, 10**9).samples.astype(np.float64)
    blocks = run_through(_make(name), song, block_frames).samples.astype(np.float64)
    assert whole.any() and whole.shape == (100000, 2)
    assert np.abs(whole - blocks).max() <= 10 ** (-140 / 20) * np.abs(whole).max()


@pytest.mark.parametrize("name", ["delay", "overlapped", "filter"])
def test_single_frames_will_do(name: str) -> None:
    """The smallest block there is."""
    song = Clip(noise(300, 0.2, 1).astype(np.float32), RATE_HZ)
    np.testing.assert_allclose(
        run_through(_make(name), song, 1).samples, run_through(_make(name), song).samples, atol=1e-7
    )


def test_latency_is_made_good() -> None:
    """Against scipy's filter and numpy's convolution over the whole, which are not late."""
    samples = noise(5000, 0.2, 2).astype(np.float32)
    song = Clip(samples, RATE_HZ)
    np.testing.assert_array_equal(run_through(Delay(123), song, 700).samples, samples)
    wished = sosfilt(SECTIONS, samples.astype(np.float64), axis=0)
    np.testing.assert_allclose(run_through(SectionFilter(SECTIONS), song, 700).samples, wished, atol=1e-6)
    np.testing.assert_allclose(
        run_through(Overlapped(_smooth, 2, 64), song, 700).samples, _smooth(samples.T).T, atol=1e-6
    )


def test_a_loop_is_in_steady_state() -> None:
    """Against the spectrum: a filter on an endless loop multiplies its Fourier lines."""
    loop = Clip(noise(4800, 0.2, 3).astype(np.float32), RATE_HZ)
    impulse = np.zeros(48000)
    impulse[0] = 1.0
    response = np.fft.rfft(sosfilt(SECTIONS, impulse).reshape(-1, 4800).sum(axis=0))
    wished = np.fft.irfft(np.fft.rfft(loop.samples.astype(np.float64), axis=0) * response[:, None], axis=0)
    done = run_round(lambda: SectionFilter(SECTIONS), loop, 24000).samples
    np.testing.assert_allclose(done, wished, atol=1e-6)
