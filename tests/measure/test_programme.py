"""All figures of a file together: sides, word length, dynamics, in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import music_like, noise, sine
from trainer.measure.programme import measure_programme
from trainer.measure.word_length import WordLengthMeter


def test_sides_of_known_sounds() -> None:
    """Closed form: powers 1 and 1/4, common part; correlation, balance, and the mono sum follow."""
    common, own = noise(10 * 48000, 0.1, 1)[:, 0], noise(10 * 48000, 0.1, 2)[:, 0]
    stereo = measure_programme(np.stack([common, 0.5 * own], axis=1), 48000).stereo
    assert stereo.correlation == pytest.approx(0.0, abs=0.01)
    assert stereo.balance_db == pytest.approx(6.02, abs=0.03)
    assert stereo.mono_change_lu == pytest.approx(-3.01, abs=0.05)
    stereo = measure_programme(np.stack([common + own, common - own], axis=1), 48000).stereo
    assert stereo.correlation == pytest.approx(0.0, abs=0.02)
    stereo = measure_programme(np.stack([common, -common], axis=1), 48000).stereo
    assert stereo.correlation == pytest.approx(-1.0) and stereo.mono_change_lu is None


def test_a_silent_side_and_one_channel() -> None:
    """Nothing can be compared with nothing."""
    wave = noise(4 * 48000, 0.1, 3)
    stereo = measure_programme(wave * [1.0, 0.0], 48000).stereo
    assert (stereo.silent_side, stereo.correlation, stereo.balance_db) == ("right", None, None)
    mono = measure_programme(wave[:, :1], 48000)
    assert mono.stereo.correlation is None and mono.stereo.mono_change_lu is None
    assert mono.loudness.integrated_lufs == pytest.approx(
        measure_programme(wave[:, :1] * [1.0, 1.0], 48000).loudness.integrated_lufs - 3.0103, abs=1e-3
    )


@pytest.mark.parametrize("bits", [8, 12, 16, 20, 24])
def test_word_length(bits: int) -> None:
    """By construction: samples on the grid of so many bits use so many."""
    meter = WordLengthMeter()
    grid = 2.0 ** (bits - 1)
    for seed in (1, 2):
        meter.add((np.round(noise(48000, 0.2, seed).T * grid) / grid).astype(np.float32))
    assert meter.finish() == bits


def test_word_length_of_silence_and_of_floating_point() -> None:
    """Nothing uses no bits; values between all steps of 24 bits have no word length."""
    silent, floating = WordLengthMeter(), WordLengthMeter()
    silent.add(np.zeros((2, 4800), np.float32))
    floating.add((noise(4800, 0.2, 1).T / 3).astype(np.float32))
    assert silent.finish() is None and floating.finish() is None


def test_dynamics_of_a_sine() -> None:
    """Closed form: a stereo sine at 997 Hz stands 0 dB over its loudness, always at its ceiling, without hits."""
    dynamics = measure_programme(sine(997.0, 0.5, 8 * 48000, 48000, fade_s=0.01), 48000).dynamics
    assert dynamics.peak_to_loudness_db == pytest.approx(0.0, abs=0.03)
    assert dynamics.short_term_dynamics_db == pytest.approx(0.0, abs=0.03)
    assert dynamics.ceiling_share == pytest.approx(1.0, abs=0.01)


def test_dynamics_of_a_limited_and_an_open_beat() -> None:
    """By construction: clipped hard 12 dB down, a beat has less crest, and stands at its ceiling often."""
    wave = np.tile(music_like(4 * 48000, 48000, 5), (3, 1))
    ceiling = 10 ** (-12 / 20) * np.abs(wave).max()
    level = np.repeat(np.random.default_rng(1).uniform(0.7, 1.0, 24), wave.shape[0] // 24)[:, None]
    open_, held = (measure_programme(w, 48000).dynamics for w in (wave * level, np.clip(wave, -ceiling, ceiling)))
    assert open_.peak_to_loudness_db is not None and held.peak_to_loudness_db is not None
    assert open_.peak_to_loudness_db > held.peak_to_loudness_db + 6
    assert open_.transient_crest_db is not None and held.transient_crest_db is not None
    assert open_.transient_crest_db > held.transient_crest_db + 3
    assert open_.ceiling_share is not None and held.ceiling_share is not None
    assert open_.ceiling_share < 0.15 < 0.3 < held.ceiling_share


@pytest.mark.parametrize("frames", [1, 100, 4800, 30000])
@pytest.mark.parametrize("rate_hz", [8000, 48000, 192000])
def test_short_files(frames: int, rate_hz: int) -> None:
    """A few frames are measured as far as they go, without an error."""
    programme = measure_programme(noise(frames, 0.1, 1), rate_hz)
    assert programme.frames == frames and np.isfinite(programme.peaks.true_peak_dbtp)
