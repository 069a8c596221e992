"""Coding as a move, with coders whose effect is known in closed form; the real ones are tested with the files."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import butter, sosfiltfilt

from tests.dsp.faults.songs import RATE_HZ, beat, white
from trainer.audio.clip import Clip
from trainer.dsp.delivery.coding import Coding, make_coding_moves
from trainer.dsp.delivery.moves import MOVES_OF_FAMILY
from trainer.dsp.matching import match_loops
from trainer.errors import EvenhandError, NotReachable


def _noise_like(clip: Clip, codec: str, rate_kbps: float) -> Clip:
    """Add white noise of 1000 / kb/s per cent of the clip's own RMS value, and turn all down by 1 dB."""
    rms = float(np.sqrt(np.mean(np.square(clip.samples, dtype=np.float64))))
    noise = np.random.default_rng(3).standard_normal(clip.samples.shape)
    return clip.with_samples((clip.samples + noise * rms * 10 / rate_kbps) * 10 ** (-1 / 20))


def _narrow(clip: Clip, codec: str, rate_kbps: float) -> Clip:
    """Leave nothing above 10 kHz."""
    sections = butter(12, 10000.0, fs=clip.rate_hz, output="sos")
    return clip.with_samples(sosfiltfilt(sections, clip.samples.astype(np.float64), axis=0))


def _move(coder: object) -> Coding:
    return make_coding_moves(coder)[0]  # type: ignore[arg-type]


@pytest.mark.parametrize("rate_kbps", [50.0, 128.0, 300.0])
def test_what_changed_is_read_without_the_gain(rate_kbps: float) -> None:
    """White noise in white noise: 1000 / rate per cent of the song whatever the weighting (closed form), within 1 %."""
    move, loop = _move(_noise_like), white(4.0, 0.1)
    made = move.render(loop, {"rate_kbps": rate_kbps})
    effect = move.measure(loop, made, {"rate_kbps": rate_kbps})
    assert effect.amount == pytest.approx(1000 / rate_kbps, rel=0.01)
    assert effect.measured["loudness_change_lu"] == pytest.approx(
        -1.0 + 10 * math.log10(1 + (10 / rate_kbps) ** 2), abs=0.02
    )
    before, after = match_loops((loop, made))
    matched = move.measure(before.loop, after.loop, {}, after.gain_db - before.gain_db)
    assert matched.amount == pytest.approx(effect.amount, rel=1e-4)


@pytest.mark.parametrize("amount", [4.0, 9.0, 22.0])
def test_the_rate_is_found(amount: float) -> None:
    """1000 / amount kb/s (closed form), within the three per cent that the search stops at."""
    move, loop = _move(_noise_like), white(2.0, 0.1)
    settings = move.solve(loop, amount, {})
    assert settings["rate_kbps"] == pytest.approx(1000 / amount, rel=0.05)
    assert move.measure(loop, move.render(loop, settings), settings).amount == pytest.approx(amount, rel=0.035)


@pytest.mark.parametrize("amount", [0.5, 60.0])
def test_amounts_beyond_the_rates_are_not_reachable(amount: float) -> None:
    """The line says what the nearest rate gives."""
    with pytest.raises(NotReachable, match="kb/s"):
        _move(_noise_like).solve(white(2.0, 0.1), amount, {})


def test_the_bandwidth_left_is_read() -> None:
    """A low-pass at 10 kHz (twelfth order, both ways) leaves the third octave of 10 kHz as the last, minus 6 dB."""
    move, loop = _move(_narrow), white(4.0, 0.1)
    effect = move.measure(loop, move.render(loop, {}), {})
    assert effect.measured["bandwidth_hz"] == pytest.approx(10000.0, rel=0.01)
    assert len(effect.sentences) == 2


def test_the_seam_is_as_smooth_as_the_rest() -> None:
    """Over the seam no larger step than elsewhere in the coded loop."""
    loop = beat()
    made = _move(_noise_like).render(loop, {"rate_kbps": 100.0})
    steps = np.abs(np.diff(np.concatenate([made.samples, made.samples[:1]]), axis=0)).max(axis=1)
    assert steps[-1] < steps[:-1].max()
    assert made.samples.shape == loop.samples.shape


def test_without_a_coder_the_moves_can_be_listed_and_refuse_in_one_line() -> None:
    """What a part of the program without files needs."""
    names = [move.name for move in MOVES_OF_FAMILY]
    assert names == ["word_length", "mp3", "vorbis", "opus"]
    for move in MOVES_OF_FAMILY[1:]:
        with pytest.raises(EvenhandError) as caught:
            move.render(beat(), {})
        assert "\n" not in str(caught.value) and move.name in str(caught.value)
        silent = Clip(np.zeros((RATE_HZ, 2), np.float32), RATE_HZ)
        assert not move.render(silent, {}).samples.any()


def test_a_coder_that_changes_the_length_is_refused() -> None:
    """A version that is out of step must never be played."""
    with pytest.raises(EvenhandError, match="frames="):
        _move(lambda clip, *_: clip.with_samples(clip.samples[:-1])).render(beat(), {})
