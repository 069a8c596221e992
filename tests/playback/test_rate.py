"""Loops brought to another rate, against the closed form of the sine and pyebur128."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.playback.rate import convert_loop, convert_reel
from trainer.playback.reel import make_reel

from .signals import Samples, make_music, read_loudness


def make_sine(periods: int, frames: int) -> Samples:
    """Make a sine with so many periods a loop, a tenth of a period ahead on the right."""
    phase = 2 * np.pi * periods * np.arange(frames) / frames
    return np.stack([np.sin(phase), np.sin(phase + 0.2 * np.pi)], axis=1).astype(np.float32)


@pytest.mark.parametrize(("before", "after"), [(44100, 48000), (48000, 44100), (44123, 48025), (9973, 10007)])
@pytest.mark.parametrize("share", [0.001, 0.1, 0.45])
def test_a_sine_stays_that_sine_up_to_its_seam(before: int, after: int, share: float) -> None:
    """A whole number of periods a loop stays the same formula at the new frames: error under −110 dB."""
    periods = round(share * min(before, after))
    error = convert_loop(make_sine(periods, before), after) - make_sine(periods, after)
    assert np.abs(error).max() < 10 ** (-110 / 20)


def test_what_the_lower_rate_cannot_carry_is_left_out() -> None:
    """A sine above the new half rate leaves less than −110 dB."""
    assert np.abs(convert_loop(make_sine(22500, 48000), 44100)).max() < 10 ** (-110 / 20)


def test_versions_keep_one_length_and_equal_loudness() -> None:
    """All versions get the same number of frames; loudness by pyebur128 moves by less than 0.01 LU."""
    music = make_music(44100, 2.0)
    reel = convert_reel(make_reel(np.stack([music, music[:, ::-1]]), 44100), 48000)
    assert reel.rate_hz == 48000
    assert reel.versions.shape == (2, 96000, 2)
    for before, after in zip([music, music[:, ::-1]], reel.versions, strict=True):
        own = read_loudness(np.tile(before, (2, 1)), 44100)
        assert read_loudness(np.tile(after, (2, 1)), 48000) == pytest.approx(own, abs=0.01)
