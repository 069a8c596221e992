"""Release, attack and side-chain filter: compared at equal reduction, and the effect another reading finds."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from tests.dsp.dynamics.beats import BEAT_S, make_beat
from tests.dsp.dynamics.test_compressor import read_reduction
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.attack import Attack
from trainer.dsp.dynamics.compared import ComparedMove
from trainer.dsp.dynamics.release import Release
from trainer.dsp.dynamics.side_chain_filter import SideChainFilter
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import measure_contents
from trainer.units import db_to_gain

CASES: tuple[tuple[ComparedMove, float], ...] = (
    (Release(), 1.0),
    (Release(), 3.0),
    (Attack(), 0.5),
    (Attack(), 2.0),
    (SideChainFilter(), 1.0),
    (SideChainFilter(), 2.0),
)


@lru_cache(maxsize=16)
def _solve(move: ComparedMove, amount: float) -> tuple[Clip, dict[str, float], Clip, Clip]:
    """Give the loop, the settings, the reference's sound and the move's."""
    loop = make_beat()
    solved = move.solve(loop, amount, {})
    return loop, solved, move.refer(loop, solved), move.render(loop, solved)


def _deepest(loop: Clip, after: Clip, beats: slice) -> float:
    """Mean of the deepest reduction in the 170 ms from each beat, which are known by construction."""
    parts = np.roll(read_reduction(loop, after), -round(0.08 * loop.rate_hz))
    return float(
        parts.reshape(-1, round(BEAT_S * loop.rate_hz))[beats, : round(0.17 * loop.rate_hz)].max(axis=1).mean()
    )


@pytest.mark.parametrize(("move", "amount"), CASES)
def test_what_is_asked_is_measured_at_equal_reduction(move: ComparedMove, amount: float) -> None:
    """By the contract: within 0.005 dB; both versions reduce the hits by what was set, on a plain quotient, 0.1 dB."""
    loop, solved, reference, after = _solve(move, amount)
    effect = move.measure(reference, after, solved)
    assert effect.amount == effect.measured[move.effect_name] == pytest.approx(amount, abs=0.005)
    beats = slice(0, None) if isinstance(move, Release) else slice(1, None, 2)
    for version in (reference, after):
        assert _deepest(loop, version, beats) == pytest.approx(solved[move.equal], abs=0.1)


def test_a_release_swings_by_that_much_more() -> None:
    """The gain between the versions, frame by frame: largest less smallest in each beat after its deepest; 0.2 dB."""
    loop, solved, reference, after = _solve(Release(), 3.0)
    between = read_reduction(reference, after)
    beats = np.roll(between, -round(0.09 * loop.rate_hz)).reshape(-1, round(BEAT_S * loop.rate_hz))
    onset = round(0.15 * loop.rate_hz)
    swings = [part[:onset].max() - part[part[:onset].argmax() :].min() for part in beats]
    assert np.mean(swings) == pytest.approx(3.0, abs=0.2)
    assert solved["release_ms"] < solved["reference_release_ms"]


def test_an_attack_takes_the_front_off_the_snare() -> None:
    """The snare's first 10 ms, known by construction, over pyloudnorm's reading of the whole; 0.15 dB."""
    pyloudnorm = pytest.importorskip("pyloudnorm")
    loop, solved, *versions = _solve(Attack(), 2.0)
    fronts = []
    for version in versions:
        power = np.roll((version.samples.astype(float) ** 2).sum(axis=1), -round(0.1 * loop.rate_hz))
        snares = power.reshape(-1, round(BEAT_S * loop.rate_hz))[1::2, : round(0.01 * loop.rate_hz)]
        meter = pyloudnorm.Meter(loop.rate_hz, filter_class="DeMan")
        loudness = meter.integrated_loudness(np.tile(version.samples.astype(float), (3, 1)))
        fronts.append(20 * np.log10(np.sqrt(snares.mean(axis=1)).mean()) - loudness)
    assert fronts[0] - fronts[1] == pytest.approx(2.0, abs=0.15)
    assert solved["attack_ms"] < solved["reference_attack_ms"]


def test_a_side_chain_filter_lets_the_kick_go() -> None:
    """Levels of the kicks and snares, known by construction, in both versions: 2 dB between their changes, 0.1 dB."""
    loop, solved, *versions = _solve(SideChainFilter(), 2.0)
    changes = []
    for first in (0, 1):
        levels = []
        for version in versions:
            power = np.roll((version.samples.astype(float) ** 2).sum(axis=1), -round(0.08 * loop.rate_hz))
            beats = power.reshape(-1, round(BEAT_S * loop.rate_hz))[first::2, : round(0.17 * loop.rate_hz)]
            levels.append(10 * np.log10(beats.sum()))
        changes.append(levels[1] - levels[0])
    assert changes[0] - changes[1] == pytest.approx(2.0, abs=0.1)
    assert solved["side_chain_hz"] > 20


@pytest.mark.parametrize("move", [Release(), Attack(), SideChainFilter()])
def test_nothing_asked_is_the_reference_itself(move: ComparedMove) -> None:
    """Bit for bit."""
    loop = make_beat()
    solved = move.solve(loop, 0.0, {})
    np.testing.assert_array_equal(move.render(loop, solved).samples, move.refer(loop, solved).samples)


@pytest.mark.parametrize(("move", "amount"), CASES[1::2])
def test_a_level_between_the_versions_does_not_count(move: ComparedMove, amount: float) -> None:
    """By construction: both turned, by different gains, said so, give the same figures."""
    _, solved, reference, after = _solve(move, amount)
    lower = reference.with_samples(reference.samples * db_to_gain(-3.0))
    turned = after.with_samples(after.samples * db_to_gain(-7.0))
    plain, matched = move.measure(reference, after, solved), move.measure(lower, turned, solved, -4.0)
    assert matched.measured == pytest.approx(plain.measured, abs=2e-3)


@pytest.mark.parametrize("move", [Release(), Attack(), SideChainFilter()])
def test_what_cannot_be_had_is_said(move: ComparedMove) -> None:
    """By construction: too much, no drums, silence, no number."""
    loop = make_beat()
    with pytest.raises(NotReachable, match="at most"):
        move.solve(loop, 30.0, {})
    with pytest.raises(BadValue, match="peak_dbfs"):
        move.solve(Clip(np.zeros((48000, 2), np.float32), 48000), 1.0, {})
    with pytest.raises(BadValue, match="amount"):
        move.solve(loop, float("nan"), {})
    tone = 0.2 * np.sin(2 * np.pi * 440 * np.arange(96000) / 48000)
    with pytest.raises(NotReachable, match=r"hits|amount"):
        move.solve(Clip(np.repeat(tone[:, None], 2, axis=1).astype(np.float32), 48000), 1.0, {})


def test_the_beat_meets_every_need() -> None:
    """By construction: kick and snare apart, and a chord that goes on."""
    loop = make_beat()
    contents = measure_contents(loop.samples, loop.rate_hz).cut(0.0, loop.duration_s)
    for move in (Release(), Attack(), SideChainFilter()):
        assert all(need.met for need in move.needs(contents, {})), move.needs(contents, {})
