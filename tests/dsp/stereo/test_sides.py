"""What is read of two channels, against closed forms and a second loudness meter."""

from __future__ import annotations

import math

import numpy as np
import pyebur128
import pytest

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.stereo.sides import fold_to_mono, measure_sides

RATE_HZ = 48000


def _clip(samples: np.ndarray) -> Clip:
    return Clip(np.asarray(samples).astype(np.float32), RATE_HZ)


def _mix(side_gain: float, seed: int) -> Clip:
    """Make a middle and a side, uncorrelated by construction: two tones of different whole numbers of periods."""
    time = np.arange(RATE_HZ) / RATE_HZ
    middle, side = np.sin(2 * np.pi * 500 * time + seed), side_gain * np.sin(2 * np.pi * 700 * time)
    return _clip(0.3 * np.stack([middle + side, middle - side], axis=1))


@pytest.mark.parametrize("side_gain", [1.0, 0.5, 0.1])
def test_correlation_follows_from_middle_and_side(side_gain: float) -> None:
    """Closed form for uncorrelated M and S: correlation (1 − r) / (1 + r), r the ratio of their powers."""
    sides = measure_sides(_mix(side_gain, 1))
    ratio = side_gain**2
    assert sides.side_over_middle_db == pytest.approx(10 * math.log10(ratio), abs=1e-5)
    assert sides.correlation == pytest.approx((1 - ratio) / (1 + ratio), abs=1e-6)
    assert sides.balance_db == pytest.approx(0.0, abs=1e-5)


def test_correlation_is_numpys() -> None:
    """numpy.corrcoef, on sound without an offset."""
    samples = noise(RATE_HZ, 0.1, 2)
    samples[:, 1] += 0.7 * samples[:, 0]
    samples -= samples.mean(axis=0)
    wished = np.asarray(np.corrcoef(samples.T))[0, 1]
    assert measure_sides(_clip(samples)).correlation == pytest.approx(wished, abs=1e-5)


def test_balance_is_the_ratio_of_levels() -> None:
    """Closed form: the right channel at half amplitude leaves left 6.02 dB over it."""
    one = noise(RATE_HZ, 0.1, 3)[:, :1]
    assert measure_sides(_clip(one * [1.0, 0.5])).balance_db == pytest.approx(6.0206, abs=1e-4)


def test_the_loss_in_mono_is_that_of_a_second_meter() -> None:
    """libebur128 on the repeated loop and its fold: steady noise passes all gates, so 0.05 LU."""
    loop = noise(4 * RATE_HZ, 0.1, 4)
    loop[:, 1] = 0.5 * loop[:, 1] + 0.5 * loop[:, 0]
    fold = np.repeat(loop.mean(axis=1, keepdims=True), 2, axis=1)
    readings = []
    for samples in (loop, fold):
        state = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
        state.add_frames(np.ascontiguousarray(np.tile(samples, (3, 1))).ravel(), 3 * samples.shape[0])
        readings.append(pyebur128.get_loudness_global(state))
    assert measure_sides(_clip(loop)).mono_loss_lu == pytest.approx(readings[0] - readings[1], abs=0.05)


def test_uncorrelated_sides_lose_three_lu() -> None:
    """Closed form: the mean of two independent noises has half the power of each."""
    assert measure_sides(_clip(noise(8 * RATE_HZ, 0.1, 5))).mono_loss_lu == pytest.approx(3.01, abs=0.05)


def test_folding_leaves_no_side() -> None:
    """By definition, to the bit."""
    folded = fold_to_mono(_clip(music_like(RATE_HZ, RATE_HZ, 6)))
    np.testing.assert_array_equal(folded.samples[:, 0], folded.samples[:, 1])
    assert measure_sides(folded).side_db == -math.inf
    assert measure_sides(folded).mono_loss_lu == pytest.approx(0.0, abs=1e-9)
