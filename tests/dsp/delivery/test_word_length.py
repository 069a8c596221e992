"""Word length as a move, against closed forms and values counted one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.dsp.delivery.weighting import k_power
from tests.dsp.faults.songs import RATE_HZ, beat, ending, white
from tests.measure.meters import ebur128_lufs
from trainer.audio.clip import Clip
from trainer.dsp.delivery.steps import find_step
from trainer.dsp.delivery.word_length import WordLength
from trainer.dsp.matching import match_loops
from trainer.dsp.processor import run_through
from trainer.errors import EvenhandError

MOVE = WordLength()


@pytest.mark.parametrize("dither_lsb", [0.0, 2.0])
@pytest.mark.parametrize("amount", [0.02, 0.3, 2.0])
def test_measured_as_asked_after_matching(dither_lsb: float, amount: float) -> None:
    """Within 1 %, the versions turned; libebur128 reads the same level of the error against the song (BS.1770)."""
    loop = beat()
    settings = MOVE.solve(loop, amount, {"dither_lsb": dither_lsb})
    made = MOVE.render(loop, settings)
    before, after = match_loops((loop, made))
    effect = MOVE.measure(before.loop, after.loop, settings, after.gain_db - before.gain_db)
    assert effect.amount == pytest.approx(amount, rel=0.01)
    turned = made.with_samples(made.samples * np.float32(0.5))
    assert MOVE.measure(loop, turned, settings, -6.0206).amount == pytest.approx(amount, rel=0.01)
    if dither_lsb:
        # Steady noise, so that the meter's gates do not matter; made louder, so that it is above the absolute one.
        error = (made.samples.astype(np.float64) - loop.samples) / (amount / 100)
        song_db = -0.691 + 10 * math.log10(k_power(loop.samples))
        assert ebur128_lufs(error, RATE_HZ) == pytest.approx(song_db, abs=0.1)


@pytest.mark.parametrize("bits", [8.0, 12.0, 16.0, 20.0])
def test_noise_is_the_closed_form(bits: float) -> None:
    """Half of a step with dither, a step over the root of 12 without (Lipshitz et al. 1992), dBFS of an RMS value."""
    loop = white(2.0, 0.1)
    for dither_lsb, share in ((2.0, 1 / 2), (0.0, 1 / math.sqrt(12))):
        full = {"word_bits": bits, "dither_lsb": dither_lsb}
        effect = MOVE.measure(loop, MOVE.render(loop, full), full)
        assert effect.measured["noise_dbfs"] == pytest.approx(20 * math.log10(share * 2 ** (1 - bits)), abs=0.05)


@pytest.mark.parametrize("bits", [8.0, 10.0, 16.0, 24.0])
@pytest.mark.parametrize("gain", [1.0, 0.7310])
def test_the_step_is_read_from_the_values(bits: float, gain: float) -> None:
    """2 ** (1 - bits), turned by a gain and stored as float32 (closed form); the bits in use follow the level."""
    loop = beat()
    rounded = MOVE.render(loop, {"word_bits": bits, "dither_lsb": 2.0})
    turned = rounded.samples * np.float32(gain)
    assert find_step(turned) == pytest.approx(gain * 2 ** (1 - bits), rel=1e-4)
    counted = np.unique(np.round(np.abs(rounded.samples.astype(np.float64)) * 2 ** (bits - 1)))
    effect = MOVE.measure(loop, rounded, {"word_bits": bits, "dither_lsb": 2.0})
    assert effect.measured["used_bits"] == pytest.approx(1 + math.log2(counted.max()), abs=1e-3)


def test_dither_is_steady_and_its_lack_is_not() -> None:
    """On a tail: with dither the noise keeps its level; without it the noise goes when the sound does."""
    swings = {}
    for dither_lsb in (0.0, 2.0):
        full = {"word_bits": 8.0, "dither_lsb": dither_lsb}
        effect = MOVE.measure(ending(), MOVE.render(ending(), full), full)
        swings[dither_lsb] = effect.measured["noise_swing_db"]
        assert ("it is steady" in effect.sentences[0]) == (dither_lsb == 2.0)
    assert swings[2.0] < 1.0 < 10.0 < swings[0.0]


def test_a_song_goes_through_in_blocks() -> None:
    """The same to the bit, whatever the blocks; and a loop is what a song is."""
    full = {"word_bits": 12.0, "dither_lsb": 2.0}
    clip = beat()
    whole = run_through(MOVE.begin(full, RATE_HZ), clip, clip.frames)
    np.testing.assert_array_equal(run_through(MOVE.begin(full, RATE_HZ), clip, 4099).samples, whole.samples)
    np.testing.assert_array_equal(MOVE.render(clip, full).samples, whole.samples)


def test_silence_and_what_cannot_be_had() -> None:
    """Digital silence stays silent, dithered or not; impossible amounts are one line."""
    silent = Clip(np.zeros((4800, 2), np.float32), RATE_HZ)
    assert not MOVE.render(silent, {}).samples.any()
    constant = Clip(np.full((4800, 2), 0.5, np.float32), RATE_HZ)
    for loop, amount in ((silent, 1.0), (beat(), 90.0), (beat(), 1e-9), (beat(), 0.0), (beat(), float("nan"))):
        with pytest.raises(EvenhandError) as caught:
            MOVE.solve(loop, amount, {})
        assert "\n" not in str(caught.value)
    assert math.isfinite(MOVE.measure(constant, MOVE.render(constant, {}), {}).amount)
