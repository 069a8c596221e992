"""Clips: shape, rate and kind of number are kept to."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.audio.clip import Clip
from trainer.errors import BadValue


@pytest.mark.parametrize(
    ("samples", "rate_hz"),
    [
        (np.zeros(10, np.float32), 48000),
        (np.zeros((10, 1), np.float32), 48000),
        (np.zeros((10, 2), np.float64), 48000),
        (np.zeros((10, 2), np.float32), 0),
    ],
)
def test_refuses_what_is_not_stereo_float32_with_a_rate(samples: np.ndarray, rate_hz: int) -> None:
    """The contract of the docstring; the message is one line."""
    with pytest.raises(BadValue) as caught:
        Clip(samples, rate_hz)
    assert "\n" not in str(caught.value)


def test_knows_its_length_and_cannot_be_written_to() -> None:
    """Closed form: 24 000 frames at 48 kHz are half a second."""
    clip = Clip(np.zeros((24000, 2), np.float32), 48000)
    assert clip.frames == 24000
    assert clip.duration_s == 0.5
    with pytest.raises(ValueError, match="read-only"):
        clip.samples[0, 0] = 1.0


def test_other_samples_keep_the_rate_and_become_float32() -> None:
    """The contract of the docstring."""
    clip = Clip(np.zeros((4, 2), np.float32), 44100).with_samples(np.full((3, 2), 0.25))
    assert clip.rate_hz == 44100
    assert clip.samples.dtype == np.float32
    np.testing.assert_array_equal(clip.samples, np.full((3, 2), 0.25, np.float32))
