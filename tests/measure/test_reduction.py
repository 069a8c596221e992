"""Gain reduction read from the sound against gains that were put on it."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import noise
from trainer.measure.reduction import measure_on_hits, measure_reduction

RATES_HZ = (44100, 48000)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_a_known_gain_on_noise_is_read_back(rate_hz: int) -> None:
    """Closed form: noise times a slow gain, 0 to 6 dB down and 3 dB drive; the slope is under 0.03 dB a step."""
    time = np.arange(3 * rate_hz) / rate_hz
    down_db = 3.0 - 3.0 * np.cos(2 * np.pi * 1.0 * time)
    before = noise(time.size, 0.1, 1)
    after = before * (10 ** ((3.0 - down_db) / 20))[:, None]
    read = measure_reduction(before, after, rate_hz, 10 ** (3.0 / 20))
    assert read.step_s == pytest.approx(0.001, rel=0.003)
    middle = (np.arange(read.reduction_db.size) + 0.5) * read.step_s
    np.testing.assert_allclose(read.reduction_db, 3.0 - 3.0 * np.cos(2 * np.pi * middle), atol=0.02)
    assert read.mean_db == pytest.approx(3.0, abs=0.01)
    # The peaks of three rounds of a raised cosine; its 95th percentile is 3 + 3 cos(0.05 pi).
    assert read.on_hits_db == pytest.approx(6.0, abs=0.02)
    assert read.percentile_95_db == pytest.approx(3 + 3 * np.cos(0.05 * np.pi), abs=0.02)


def test_nothing_done_is_no_reduction() -> None:
    """Closed form: equal sounds, resting gain 1: zero everywhere."""
    before = noise(48000, 0.1, 2)
    np.testing.assert_allclose(measure_reduction(before, before, 48000, 1.0).reduction_db, 0.0, atol=1e-9)


def test_silence_keeps_the_last_value() -> None:
    """Where nothing sounds a gain cannot be read: the value before stays (contract of the docstring)."""
    before = noise(48000, 0.1, 3)
    before[12000:24000] = 0.0
    after = before * 0.5
    np.testing.assert_allclose(measure_reduction(before, after, 48000, 1.0).reduction_db, 6.0206, atol=1e-3)
    before[:4800] = 0.0
    read = measure_reduction(before, before * 0.5, 48000, 1.0).reduction_db
    np.testing.assert_array_equal(read[:100], 0.0)
    silence = np.zeros((4800, 2))
    np.testing.assert_array_equal(measure_reduction(silence, silence, 48000, 1.0).reduction_db, 0.0)


def test_hits_are_the_deepest_separate_places() -> None:
    """By hand: four seconds take the four deepest places that are at least 100 ms apart: 8, 6, 4 and 2 dB."""
    trace = np.zeros(4000)
    for place, depth in ((500, 8.0), (550, 7.9), (1500, 6.0), (2500, 4.0), (2590, 3.9), (3500, 2.0)):
        trace[place] = depth
    assert measure_on_hits(trace, 0.001) == pytest.approx(5.0)
    assert trace[500] == 8.0


def test_a_short_stretch_has_one_hit() -> None:
    """By hand: 300 ms round to no whole second, yet the deepest place counts."""
    trace = np.zeros(300)
    trace[100], trace[250] = 3.0, 2.0
    assert measure_on_hits(trace, 0.001) == pytest.approx(3.0)
