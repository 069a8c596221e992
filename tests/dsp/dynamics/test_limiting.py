"""The limiter's parts against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import noise, sine
from trainer.dsp.dynamics.limiting import STEP_FRAMES, Timing, expand_gain, follow_envelope_db, shape_reduction

RATE_HZ = 48000
TIMING = Timing(0.06, 0.6)


@pytest.mark.parametrize("frequency_hz", [1000.0, 12000.0, 18000.0])
def test_envelope_of_a_sine_is_its_amplitude(frequency_hz: float) -> None:
    """Closed form; four phases miss at most 20 log cos(π f / 4 fs), 0.38 dB at 18 kHz, and 8 frames hold a peak."""
    envelope = follow_envelope_db(sine(frequency_hz, 0.5, 4800, RATE_HZ, 20.0), RATE_HZ)
    assert envelope.shape == (600,)
    inside = envelope[20:-20].reshape(-1, 8).max(axis=1)  # half a period of 1 kHz is three steps
    low = -6.0206 + 20 * np.log10(np.cos(np.pi * frequency_hz / 4 / RATE_HZ)) - 0.02
    assert (inside > low).all() and (inside < -6.0206 + 0.02).all()


def test_envelope_of_silence_and_of_a_part_step() -> None:
    """−200 dB stands for silence; the last step may be short (contract of the docstring)."""
    np.testing.assert_array_equal(follow_envelope_db(np.zeros((20, 2)), RATE_HZ), np.full(3, -200.0))


def test_reduction_covers_every_need() -> None:
    """Smoothing without overshoot (P. Hämäläinen, DAFx-02): at every step at least what lies above the ceiling."""
    envelope = np.random.default_rng(1).normal(-6.0, 6.0, 5000)
    reduction = shape_reduction(envelope, -1.0, TIMING, RATE_HZ)
    assert reduction.shape == envelope.shape
    need = np.maximum(envelope + 1.0, 0.0)
    assert (reduction >= need - 1e-9).all()
    # Drawn out between steps, both ends of a step cover it.
    assert (reduction[1:] >= need[:-1] - 1e-9).all()


def test_reduction_of_a_steady_level_is_that_level() -> None:
    """Closed form: what is 5 dB over, with a guard of 0.1 dB, is held down by 5.1 dB for ever."""
    reduction = shape_reduction(np.full(12000, 4.0), -1.0, TIMING, RATE_HZ)
    np.testing.assert_allclose(reduction[200:-200], 5.1, atol=0.01)


def test_a_short_peak_is_let_go_with_the_release() -> None:
    """Definition of a time constant: after 60 ms 37 % are left of a lone peak's reduction."""
    envelope = np.full(12000, -30.0)
    envelope[3000] = 9.0
    reduction = shape_reduction(envelope, -1.0, TIMING, RATE_HZ)
    assert reduction[3000] >= 10.0
    falls = reduction[3100:3300]
    np.testing.assert_allclose(falls[1:] / falls[:-1], np.exp(-STEP_FRAMES / RATE_HZ / 0.06), rtol=1e-6)
    # It begins its look-ahead of 3 ms, 18 steps, before the peak, and nothing happens earlier.
    assert reduction[2975] == 0.0 and reduction[2990] > 0.0


def test_what_was_held_for_long_is_let_go_slowly() -> None:
    """Definition of a time constant: long after a second of reduction the fall is that of the slow release."""
    envelope = np.full(24000, -30.0)
    envelope[:6000] = 5.0
    falls = shape_reduction(envelope, -1.0, TIMING, RATE_HZ)[10000:16000]
    np.testing.assert_allclose(falls[1:] / falls[:-1], np.exp(-STEP_FRAMES / RATE_HZ / 0.6), rtol=1e-6)


def test_below_the_ceiling_nothing_is_reduced() -> None:
    """Zero exactly, so that the sound stays as it is, bit for bit."""
    reduction = shape_reduction(np.full(500, -1.2), -1.0, TIMING, RATE_HZ)
    np.testing.assert_array_equal(reduction, 0.0)
    np.testing.assert_array_equal(expand_gain(10 ** (-reduction / 20)), np.ones(3992))


def test_gain_is_drawn_straight_from_step_to_step() -> None:
    """Against numpy.interp between the steps' amplitude factors."""
    reduction = np.abs(noise(50, 6.0, 1)[:, 0])
    gain = expand_gain(10 ** (-reduction / 20))
    wished = np.interp(np.arange(392), np.arange(50) * STEP_FRAMES, 10 ** (-reduction / 20))
    np.testing.assert_allclose(gain, wished, atol=1e-12)
