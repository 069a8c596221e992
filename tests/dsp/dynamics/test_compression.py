"""The compressor's static curve and level."""

from __future__ import annotations

import numpy as np
import pytest

from tests.dsp.dynamics.compressor_steps import static_reduction_db
from tests.measure.sounds import noise, sine
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.compression import (
    Ballistics,
    Compression,
    Curve,
    count_run_up,
    design_side_chain,
    follow_level_db,
    forget_s,
    reduce_statically,
)
from trainer.dsp.dynamics.compressor_processor import CompressorProcessor

RATE_HZ = 48000


@pytest.mark.parametrize("knee_db", [0.0, 1e-310, 6.0, 24.0])
@pytest.mark.parametrize("ratio", [1.0, 2.0, 20.0])
def test_static_curve_is_that_of_the_paper(ratio: float, knee_db: float) -> None:
    """D. Giannoulis, M. Massberg, J. D. Reiss, JAES 60(6), 2012, soft knee (equations from memory): 1e-9 dB."""
    levels = np.linspace(-200, 30, 4001)
    wished = [static_reduction_db(level, -20.0, ratio, knee_db) for level in levels.tolist()]
    read = reduce_statically(levels, Curve(-20.0, ratio, knee_db))
    np.testing.assert_allclose(read, wished, atol=1e-9)
    assert (read[levels < -20 - knee_db / 2] == 0).all()


def test_level_is_that_of_the_higher_channel() -> None:
    """By hand: 20 log10 of the larger magnitude; silence is −200 dB."""
    rows = np.array([[0.5, -0.1, 0.0], [-0.25, 1.0, 0.0]])
    np.testing.assert_allclose(follow_level_db(rows), [20 * np.log10(0.5), 0.0, -200.0], atol=1e-12)


@pytest.mark.parametrize("over_db", [3.0, 6.0, 12.0, 18.0])
def test_a_sine_is_turned_down_as_the_curve_says(over_db: float) -> None:
    """Closed form: a steady 1 kHz sine so far over the threshold, 4 : 1, hard knee, within 0.02 dB of 3/4 of it."""
    threshold = -30.0
    wave = sine(1000.0, 10 ** ((threshold + over_db) / 20), RATE_HZ, RATE_HZ)
    compression = Compression(Curve(threshold, 4.0, 0.0), Ballistics(0.01, 0.2))
    out = CompressorProcessor(compression, RATE_HZ).process(wave.T.copy())
    tail = slice(RATE_HZ // 2, RATE_HZ)
    read = -20 * np.log10(np.sqrt(np.mean(out[0, tail] ** 2) / np.mean(wave[tail, 0] ** 2)))
    assert read == pytest.approx(0.75 * over_db, abs=0.02)


def test_side_chain_is_a_butterworth_high_pass() -> None:
    """Closed form: 3.01 dB down at the corner, 12.3 dB an octave below it, 0 dB far above."""
    sections = design_side_chain(100.0, RATE_HZ)
    assert sections is not None
    for frequency_hz, wished_db in ((100.0, -3.0103), (50.0, -10 * np.log10(1 + 2**4)), (5000.0, 0.0)):
        z = np.exp(2j * np.pi * frequency_hz / RATE_HZ)
        gain = abs(np.polyval(sections[0, :3], z) / np.polyval(sections[0, 3:], z))
        assert 20 * np.log10(gain) == pytest.approx(wished_db, abs=0.001)
    assert design_side_chain(9.9, RATE_HZ) is None


def test_run_up_is_as_long_as_the_past_matters() -> None:
    """By the rule stated: a round or twelve releases, the shorter, and twelve of what smooths."""
    loop = Clip(noise(4 * RATE_HZ, 0.1, 1).astype(np.float32), RATE_HZ)
    fast = Compression(Curve(-20, 4, 6), Ballistics(0.01, 0.1))
    slow = Compression(Curve(-20, 4, 6), Ballistics(0.01, 0.1, 1.5), 100.0)
    assert count_run_up(fast, loop) == pytest.approx((1.2 + 0.12) * RATE_HZ, abs=2)
    assert count_run_up(slow, loop) == pytest.approx((4.0 + 12 * 0.31 + 0.5) * RATE_HZ, abs=2)
    assert forget_s(slow) == pytest.approx(18.0 + 12 * 0.31 + 0.5)
