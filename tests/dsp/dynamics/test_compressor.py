"""The compressor's moves: what is asked is what another reading of the rendered sound finds."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.dsp.dynamics.beats import BEAT_S, make_beat
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.compressor import Compressor, CompressorOnAverage, HeldDown, Pumping
from trainer.dsp.processor import run_through
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import StretchContents, measure_contents
from trainer.units import db_to_gain

MOVES = (Compressor(), CompressorOnAverage(), HeldDown(), Pumping())


def read_reduction(before: Clip, after: Clip) -> npt.NDArray[np.float64]:
    """Read the reduction frame by frame, dB, where there is enough sound: a plain quotient of both channels."""
    x, y = (clip.samples.astype(np.float64).sum(axis=1) for clip in (before, after))
    heard = np.abs(x) > 1e-3
    return np.asarray(np.interp(np.arange(x.size), np.flatnonzero(heard), -20 * np.log10(y[heard] / x[heard])))


@pytest.mark.parametrize(
    ("rate_hz", "settings"), [(44100, {}), (48000, {"slow_release_ms": 1500.0, "side_chain_hz": 100.0})]
)
@pytest.mark.parametrize("amount", [0.5, 6.0])
@pytest.mark.parametrize("move", MOVES[:3])
def test_what_is_asked_is_measured(move: Compressor, amount: float, settings: dict[str, float], rate_hz: int) -> None:
    """By the contract: solver and measurement within 0.005 dB, on the rendered sound."""
    loop = make_beat(rate_hz)
    solved = move.solve(loop, amount, settings)
    effect = move.measure(loop, move.render(loop, solved), solved)
    assert effect.amount == effect.measured[move.effect_name] == pytest.approx(amount, abs=0.005)


@pytest.mark.parametrize("amount", [1.0, 4.0])
def test_mean_reduction_is_that_of_a_plain_quotient(amount: float) -> None:
    """Output over input, frame by frame, and its mean: a reading without steps or least squares, within 0.02 dB."""
    for move in (CompressorOnAverage(), HeldDown()):
        loop = make_beat()
        after = move.render(loop, move.solve(loop, amount, {}))
        assert read_reduction(loop, after).mean() == pytest.approx(amount, abs=0.02)


@pytest.mark.parametrize("amount", [1.0, 3.0, 6.0])
def test_pumping_is_the_swing_of_a_plain_quotient(amount: float) -> None:
    """The same reading: largest less smallest between one beat, known by construction, and the next; 0.2 dB."""
    move, loop = Pumping(), make_beat()
    solved = move.solve(loop, amount, {})
    after = move.render(loop, solved)
    assert move.measure(loop, after, solved).amount == pytest.approx(amount, abs=0.005)
    frames = round(BEAT_S * loop.rate_hz)
    beats = np.roll(read_reduction(loop, after), -round(0.09 * loop.rate_hz)).reshape(-1, frames)
    # The lowest value of a beat after its deepest one.
    swings = [part.max() - part[part.argmax() :].min() for part in beats]
    assert np.mean(swings) == pytest.approx(amount, abs=0.2)


def test_held_down_hardly_moves_and_pumping_does() -> None:
    """Their definitions: at an equal mean of 4 dB little comes back in one, most in the other; common practice."""
    loop = make_beat()
    slow, medium = HeldDown(), CompressorOnAverage()
    settings = {"attack_ms": 5.0, "release_ms": 150.0}
    still = slow.measure(loop, slow.render(loop, slow.solve(loop, 4.0, {})), {}).measured
    solved = medium.solve(loop, 4.0, settings)
    moving = medium.measure(loop, medium.render(loop, solved), solved).measured
    assert still["recovery_between_hits_percent"] < 20 < 60 < moving["recovery_between_hits_percent"]
    assert still["swing_at_beat_db"] < 1.0 < 4.0 < moving["swing_at_beat_db"]


@pytest.mark.parametrize("move", MOVES)
def test_nothing_asked_is_the_loop_itself(move: Compressor) -> None:
    """Bit for bit, also where there is a side-chain filter."""
    loop = make_beat()
    for settings in ({}, {"side_chain_hz": 150.0}):
        np.testing.assert_array_equal(move.render(loop, move.solve(loop, 0.0, settings)).samples, loop.samples)


@pytest.mark.parametrize("move", MOVES)
def test_a_level_between_the_versions_does_not_count(move: Compressor) -> None:
    """By construction: turning the processed version by 5 dB, said so, changes no figure."""
    loop = make_beat()
    solved = move.solve(loop, 2.0, {})
    after = move.render(loop, solved)
    turned = after.with_samples(after.samples * db_to_gain(-5.0))
    plain, matched = move.measure(loop, after, solved), move.measure(loop, turned, solved, -5.0)
    assert matched.measured == pytest.approx(plain.measured, abs=1e-3)
    assert matched.sentences == plain.sentences


def test_a_whole_song_streams_to_the_same() -> None:
    """Against the round in steady state: the second round of a song of two, in blocks; −120 dB."""
    move, loop = Compressor(), make_beat()
    solved = move.solve(loop, 6.0, {"slow_release_ms": 300.0})
    song = Clip(np.tile(loop.samples, (4, 1)), loop.rate_hz)
    last = run_through(move.begin(solved, loop.rate_hz), song, 10000).samples[-loop.frames :]
    assert np.abs(last - move.render(loop, solved).samples).max() < 1e-6
    assert move.run_up_s(solved) > 12 * 0.3


@pytest.mark.parametrize("move", MOVES)
def test_what_cannot_be_had_is_said(move: Compressor) -> None:
    """By construction: 1 : 1 reduces nothing, silence holds nothing, and no number is no amount."""
    loop = make_beat()
    with pytest.raises(NotReachable, match="at most"):
        move.solve(loop, 2.0, {"ratio_to_1": 1.0})
    with pytest.raises(NotReachable, match="at most"):
        move.solve(loop, 80.0, {})
    with pytest.raises(BadValue, match="peak_dbfs"):
        move.solve(Clip(np.zeros((48000, 2), np.float32), 48000), 2.0, {})
    for amount in (float("nan"), -1.0, float("inf")):
        with pytest.raises(BadValue, match="amount"):
            move.solve(loop, amount, {})
    with pytest.raises(BadValue, match="duration_s"):
        move.solve(Clip(np.ones((1, 2), np.float32), 48000), 2.0, {})


def test_drums_with_sound_between_them_are_enough() -> None:
    """By construction: the beat serves all four moves; a steady tone serves none."""
    loop = make_beat()
    good = _contents(loop)
    tone = 0.1 * np.sin(2 * np.pi * 440 * np.arange(4 * 48000) / 48000)
    tone[:12000] *= np.linspace(0, 1, 12000)
    bad = _contents(Clip(np.repeat(tone[:, None], 2, axis=1).astype(np.float32), 48000))
    for move in MOVES:
        assert all(need.met for need in move.needs(good, {}))
        assert not all(need.met for need in move.needs(bad, {}))


def _contents(loop: Clip) -> StretchContents:
    return measure_contents(loop.samples, loop.rate_hz).cut(0.0, loop.duration_s)
