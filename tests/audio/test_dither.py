"""Shorter words against the closed forms of the theory of dither.

S. P. Lipshitz, R. A. Wannamaker and J. Vanderkooy, "Quantization and dither: a theoretical survey", Journal of the
Audio Engineering Society 40(5), 1992: with triangular dither of two steps the total error has a mean of zero and a
power of 3/12 of a step squared whatever the signal; without dither, for busy sounds, 1/12.
"""

from __future__ import annotations

import numpy as np
import pytest

from trainer.audio.dither import Quantiser, shorten_words, step_of_bits
from trainer.errors import BadValue

FRAMES = 200_000


def _error(samples: np.ndarray, bits: float, dither_lsb: float) -> np.ndarray:
    """Error in steps of the word length."""
    rounded = shorten_words(samples, bits, dither_lsb, np.random.default_rng(1))
    return np.asarray((rounded - samples) * 2 ** (bits - 1))


@pytest.mark.parametrize("bits", [8.0, 12.0, 16.0, 24.0])
@pytest.mark.parametrize("level", [0.0, 0.3, 0.5, 3.25])
def test_dithered_error_does_not_know_the_signal(bits: float, level: float) -> None:
    """Mean 0 and power 3/12 of a step squared at any place between two steps (Lipshitz et al. 1992)."""
    error = _error(np.full((FRAMES, 2), level * 2 ** (1 - bits)), bits, 2.0)
    assert abs(error.mean()) < 5 * 0.5 / np.sqrt(error.size)
    assert (error**2).mean() == pytest.approx(3 / 12, rel=0.01)
    assert np.abs(error).max() <= 1.5


def test_undithered_error_follows_the_signal() -> None:
    """Without dither the mean error at a place between two steps is that place itself (definition of rounding)."""
    for level in (0.1, 0.3, -0.4):
        error = _error(np.full((100, 2), level * 2.0**-7), 8.0, 0.0)
        np.testing.assert_allclose(error, -level, atol=1e-12)


def test_undithered_error_of_a_busy_sound_is_a_twelfth() -> None:
    """A step squared over 12 (Lipshitz et al. 1992, classical model)."""
    sound = 0.2 * np.random.default_rng(2).standard_normal((FRAMES, 2))
    assert (_error(sound, 12.0, 0.0) ** 2).mean() == pytest.approx(1 / 12, rel=0.01)


def test_sixteen_bits_with_dither_lie_near_96_dbfs() -> None:
    """Half a step of 2 ** -15: 20 log10(2 ** -16) = −96.33 dB against full scale 1.0 (closed form)."""
    sound = 0.2 * np.random.default_rng(3).standard_normal((FRAMES, 2))
    error = shorten_words(sound, 16.0, 2.0, np.random.default_rng(4)) - sound
    assert 10 * np.log10((error**2).mean()) == pytest.approx(-96.33, abs=0.05)


def test_dithered_error_is_white_and_its_sides_are_apart() -> None:
    """Thirds of the spectrum hold as much each within 2 %; the channels do not correlate (Lipshitz et al. 1992)."""
    tone = 0.3 * np.sin(2 * np.pi * 997 / 48000 * np.arange(FRAMES))
    error = _error(np.repeat(tone[:, None], 2, axis=1), 10.0, 2.0)
    power = (np.abs(np.fft.rfft(error, axis=0)) ** 2).sum(axis=1)
    thirds = np.array([part.mean() for part in np.array_split(power, 3)])
    np.testing.assert_allclose(thirds / thirds.mean(), 1.0, atol=0.02)
    assert abs(np.corrcoef(error.T)[0, 1]) < 0.01


def test_a_tone_below_half_a_step_survives_dither_only() -> None:
    """Dither keeps what is softer than the last bit; rounding alone loses it (Lipshitz et al. 1992)."""
    tone = 0.4 * step_of_bits(12.0) * np.sin(2 * np.pi * 0.01 * np.arange(100_000))[:, None] * np.ones((1, 2))
    assert not shorten_words(tone, 12.0, 0.0, np.random.default_rng(5)).any()
    kept = shorten_words(tone, 12.0, 2.0, np.random.default_rng(5))
    assert float((kept * tone).sum() / (tone**2).sum()) == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize("bits", [9.5, 16.0])
def test_values_lie_on_the_steps(bits: float) -> None:
    """Every value is a whole number of steps."""
    rounded = shorten_words(np.random.default_rng(6).uniform(-1, 1, (1000, 2)), bits, 2.0, np.random.default_rng(7))
    steps = rounded * 2 ** (bits - 1)
    np.testing.assert_allclose(steps, np.round(steps), atol=1e-9)


@pytest.mark.parametrize("block", [1, 7, 999])
def test_blocks_do_not_matter(block: int) -> None:
    """Cut anywhere, the result is the same to the bit."""
    rows = 0.1 * np.random.default_rng(8).standard_normal((2, 2000))
    whole = Quantiser(10.0, 2.0, np.random.default_rng(9)).process(rows)
    cut = Quantiser(10.0, 2.0, np.random.default_rng(9))
    parts = [cut.process(rows[:, first : first + block]) for first in range(0, 2000, block)]
    np.testing.assert_array_equal(np.concatenate(parts, axis=1), whole)


@pytest.mark.parametrize(("bits", "dither_lsb"), [(7.0, 2.0), (25.0, 2.0), (float("nan"), 0.0), (16.0, 1.0)])
def test_other_words_are_refused(bits: float, dither_lsb: float) -> None:
    """One line each."""
    with pytest.raises(BadValue):
        Quantiser(bits, dither_lsb, np.random.default_rng(0))
