"""Fades against the sums that define them."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.audio.clip import Clip
from trainer.audio.fades import CURVES, fade_clip, make_rise
from trainer.errors import BadValue


@pytest.mark.parametrize("curve", CURVES)
@pytest.mark.parametrize("frames", [0, 1, 2, 480])
def test_a_rise_and_its_reverse_sum_to_one(curve: str, frames: int) -> None:
    """Amplitudes, or powers for the equal-power curve: sin² + cos² = 1 (closed form)."""
    rise = make_rise(frames, curve)
    assert rise.shape == (frames,)
    power = 2 if curve == "equal_power" else 1
    np.testing.assert_allclose(rise**power + rise[::-1] ** power, 1.0, atol=1e-12)
    assert (np.diff(rise) > 0).all()


def test_a_fade_touches_its_ends_only() -> None:
    """Bit for bit what was there in between; no step anywhere larger than the curve's own."""
    clip = Clip(np.ones((48000, 2), np.float32), 48000)
    faded = fade_clip(clip, 0.1, 0.25)
    np.testing.assert_array_equal(faded.samples[4800:36000], clip.samples[4800:36000])
    steps = np.abs(np.diff(np.concatenate([[0.0], faded.samples[:, 0], [0.0]])))
    assert steps.max() <= np.pi / 2 / 4800 * 1.01


def test_fades_that_do_not_fit_are_refused() -> None:
    """Longer than the clip, negative, no number, no such curve: one line each."""
    clip = Clip(np.ones((480, 2), np.float32), 48000)
    for fades in ((0.006, 0.006), (-0.1, 0.0), (float("nan"), 0.0)):
        with pytest.raises(BadValue):
            fade_clip(clip, *fades)
    with pytest.raises(BadValue):
        make_rise(10, "wavy")
