"""Cuts between two frames."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.audio.clip import Clip
from trainer.audio.shifting import cut_shifted

RATE_HZ = 44100


def test_whole_frames_are_cut_bit_for_bit_with_silence_outside() -> None:
    """By definition."""
    samples = np.random.default_rng(1).standard_normal((1000, 2)).astype(np.float32)
    clip = Clip(samples, RATE_HZ)
    assert np.array_equal(cut_shifted(clip, 10.0, 50).samples, samples[10:60])
    outside = cut_shifted(clip, -20.0, 1100).samples
    assert np.array_equal(outside[20:1020], samples) and not outside[:20].any() and not outside[1020:].any()


@pytest.mark.parametrize("part", [0.5, -0.25, 0.013])
@pytest.mark.parametrize("frequency_hz", [100.0, 5000.0, 19000.0, 20000.0])
def test_a_sine_is_moved_by_its_phase(part: float, frequency_hz: float) -> None:
    """Closed form: a sine read so much later, within 0.01 dB of its height."""

    def wave(frames: np.ndarray) -> np.ndarray:
        return np.repeat(np.sin(2 * np.pi * frequency_hz / RATE_HZ * frames)[:, None], 2, axis=1)

    moved = cut_shifted(Clip(wave(np.arange(4000.0)).astype(np.float32), RATE_HZ), 1000 + part, 2000).samples
    assert np.abs(moved - wave(1000 + part + np.arange(2000))).max() < 10 ** (0.01 / 20) - 1
