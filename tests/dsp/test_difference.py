"""Only what changed, against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import firwin

from tests.measure.sounds import noise, sine
from trainer.audio.clip import Clip
from trainer.dsp.difference import make_difference


def _clip(samples: np.ndarray) -> Clip:
    return Clip(samples.astype(np.float32), 48000)


@pytest.mark.parametrize("linear", [True, False])
@pytest.mark.parametrize("gain_db", [-6.0, -0.5, 0.5, 6.0])
def test_a_gain_leaves_the_gain_less_one(gain_db: float, linear: bool) -> None:
    """Closed form: x times g less x is (g − 1) x, and its level 20 log |g − 1|."""
    before = _clip(noise(48000, 0.1, 1))
    gain = 10 ** (gain_db / 20)
    change = make_difference(before, _clip(before.samples * gain), linear)
    np.testing.assert_allclose(change.loop.samples, (gain - 1) * before.samples, atol=1e-6)
    assert change.level_db == pytest.approx(20 * np.log10(abs(gain - 1)), abs=0.01)


def test_delay_is_no_change_of_magnitude() -> None:
    """Shift theorem: a delay round the loop alters no magnitude, so a linear move has changed nothing."""
    before = _clip(noise(48000, 0.1, 2))
    change = make_difference(before, _clip(np.roll(before.samples, 37, axis=0)), linear=True)
    assert change.level_db < -100
    assert make_difference(before, _clip(np.roll(before.samples, 37, axis=0)), linear=False).level_db > 0


def test_a_filter_leaves_its_gain_less_one_at_every_frequency() -> None:
    """Closed form: at each line of the spectrum (|H| − 1) X, with the phase of X."""
    before = _clip(noise(4800, 0.1, 3))
    kernel = np.zeros(4800)
    kernel[:31] = firwin(31, 0.3)
    response = np.fft.rfft(kernel)[:, None]
    after = np.fft.irfft(np.fft.rfft(before.samples.astype(np.float64), axis=0) * response, n=4800, axis=0)
    change = make_difference(before, _clip(after), linear=True)
    wished = np.fft.rfft(before.samples.astype(np.float64), axis=0) * (np.abs(response) - 1)
    np.testing.assert_allclose(np.fft.rfft(change.loop.samples, axis=0), wished, atol=5e-4)


def test_nothing_changed_is_silence() -> None:
    """Closed form: x less x, whose level is minus infinity."""
    before = _clip(noise(4800, 0.1, 4))
    for linear in (True, False):
        change = make_difference(before, before, linear)
        assert np.abs(change.loop.samples).max() < 1e-8
    assert make_difference(before, before, linear=False).level_db == -np.inf


def test_other_moves_are_subtracted_sample_by_sample() -> None:
    """Closed form: what a hard clip takes off is what lies above it."""
    before = _clip(sine(997.0, 0.8, 48000, 48000))
    change = make_difference(before, _clip(np.clip(before.samples, -0.5, 0.5)), linear=False)
    over = np.maximum(np.abs(before.samples) - 0.5, 0.0) * np.sign(before.samples)
    np.testing.assert_allclose(change.loop.samples, -over, atol=1e-6)


def test_a_change_of_silence_has_a_level() -> None:
    """The contract of the docstring: minus infinity if nothing changed."""
    silence = _clip(np.zeros((48000, 2)))
    assert make_difference(silence, silence, linear=False).level_db == -np.inf
