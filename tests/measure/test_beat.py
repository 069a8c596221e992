"""Beats where they were put, and movements of a gain that are known."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.sounds import noise, sine
from trainer.measure.beat import (
    find_strokes,
    measure_at_hits,
    measure_gain_at_hits,
    measure_movement,
    spread_hits,
)
from trainer.measure.reduction import Reduction

RATE_HZ = 48000


def drums(
    kicks_s: tuple[float, ...], snares_s: tuple[float, ...], seconds: float, rate_hz: int = RATE_HZ
) -> npt.NDArray[np.float64]:
    """Put bursts of 60 Hz and of 2.5 kHz on a quiet bed of noise."""
    samples = noise(int(seconds * rate_hz), 0.002, 1)
    time = np.arange(int(0.12 * rate_hz)) / rate_hz
    for places, frequency_hz, decay_s in ((kicks_s, 60.0, 0.05), (snares_s, 2500.0, 0.02)):
        burst = 0.5 * np.sin(2 * np.pi * frequency_hz * time) * np.exp(-time / decay_s)
        for place in places:
            first = round(place * rate_hz)
            samples[first : first + time.size] += burst[:, None]
    return samples


def _flags(places_s: tuple[float, ...], seconds: float) -> npt.NDArray[np.bool_]:
    flags = np.zeros(round(seconds * 100), dtype=bool)
    flags[[round(place * 100) for place in places_s]] = True
    return flags


@pytest.mark.parametrize("rate_hz", [44100, 48000])
def test_kick_and_snare_are_told_apart(rate_hz: int) -> None:
    """By construction: three kicks, two snares; every beat within 40 ms of where it was put."""
    kicks, snares = (0.5, 1.5, 2.5), (1.0, 2.0)
    strokes = find_strokes(drums(kicks, snares, 3.5, rate_hz), rate_hz)
    for flags, wished in ((strokes.kicks, kicks), (strokes.snares, snares), (strokes.beats, sorted(kicks + snares))):
        found = np.flatnonzero(flags) * 0.01
        assert found.size == len(wished)
        np.testing.assert_allclose(found, wished, atol=0.04)


def test_a_snare_on_the_kick_is_no_snare_apart() -> None:
    """By construction: what falls together with a kick is left out; both together are one beat."""
    strokes = find_strokes(drums((0.5, 1.5), (0.5, 1.5), 2.5), RATE_HZ)
    assert not strokes.snares.any()
    assert strokes.beats.sum() == 2


def test_soft_strokes_are_no_beat() -> None:
    """By construction: ticks 14 dB below the tall ones do not count."""
    samples = drums((), (0.5, 1.5), 2.5) + 0.2 * drums((), (1.0, 2.0), 2.5)
    assert find_strokes(samples, RATE_HZ).beats.sum() == 2


def test_silence_has_no_strokes() -> None:
    """By construction."""
    strokes = find_strokes(np.zeros((RATE_HZ, 2)), RATE_HZ)
    assert not (strokes.beats.any() or strokes.kicks.any() or strokes.snares.any())


def _saw(depth_db: float, time_s: float, seconds: float, beat_s: float) -> Reduction:
    """Make a reduction that jumps to a depth at each beat and falls off with a time constant."""
    time = np.arange(int(seconds * 1000)) / 1000
    return Reduction(0.001, depth_db * np.exp(-(time % beat_s) / time_s))


@pytest.mark.parametrize("time_s", [0.05, 0.2, 3.0])
def test_swing_and_recovery_of_an_exponential(time_s: float) -> None:
    """Closed form: 6 dB at each beat, half a second apart: what is back before the next is 1 − e^(−t/τ) of it.

    The next beat is looked for from 20 ms before it, so 480 ms are left for the return.
    """
    movement = measure_movement(_saw(6.0, time_s, 4.0, 0.5), _flags((0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5), 4.0))
    # Without the first beat of the round seven are known; the one before the last spans two falls.
    movement = measure_movement(_saw(6.0, time_s, 4.0, 0.5), _flags(tuple(np.arange(8) / 2), 4.0))
    back = 1 - np.exp(-0.48 / time_s)
    assert movement.swing_db == pytest.approx(6 * back, abs=0.05)
    assert movement.recovery_percent == pytest.approx(100 * back, abs=1.0)


def test_movement_does_not_depend_on_where_a_round_begins() -> None:
    """By construction: a loop has no beginning."""
    reduction, beats = _saw(6.0, 0.2, 4.0, 0.5), _flags(tuple(np.arange(8) / 2), 4.0)
    rolled = measure_movement(Reduction(0.001, np.roll(reduction.reduction_db, 1370)), np.roll(beats, 137))
    assert rolled.swing_db == pytest.approx(measure_movement(reduction, beats).swing_db, abs=1e-9)


def test_a_steady_reduction_does_not_move_and_none_has_no_share() -> None:
    """By construction."""
    beats = _flags((0.5, 1.5), 2.0)
    steady = measure_movement(Reduction(0.001, np.full(2000, 5.0)), beats)
    assert steady.swing_db == 0 and steady.recovery_percent == pytest.approx(0.0)
    assert measure_movement(Reduction(0.001, np.zeros(2000)), beats).recovery_percent is None
    whole = measure_movement(_saw(6.0, 0.2, 2.0, 2.0), np.zeros(200, dtype=bool))
    assert whole.swing_db == pytest.approx(6.0, abs=0.01)


def test_the_deepest_at_each_hit_is_averaged() -> None:
    """By hand: 4 and 2 dB within reach of the hits, 9 dB far from both; a hit at the very beginning looks back."""
    values = np.zeros(4000)
    values[1100], values[2980], values[2000] = 4.0, 2.0, 9.0
    assert measure_at_hits(Reduction(0.001, values), _flags((1.0, 3.0), 4.0)) == pytest.approx(3.0)
    values[3985] = 6.0
    assert measure_at_hits(Reduction(0.001, values), _flags((0.0,), 4.0)) == pytest.approx(6.0)
    assert measure_at_hits(Reduction(0.001, values), np.zeros(400, dtype=bool)) is None


def test_the_gain_at_hits_is_that_gain() -> None:
    """By construction: 3 dB up for 200 ms about a hit, 6 dB down elsewhere."""
    before = sine(300.0, 0.3, 2 * RATE_HZ, RATE_HZ)
    gain = np.full(before.shape[0], 10 ** (-6 / 20))
    gain[int(0.95 * RATE_HZ) : int(1.2 * RATE_HZ)] = 10 ** (3 / 20)
    hits = _flags((1.0,), 2.0)
    assert measure_gain_at_hits(before, before * gain[:, None], RATE_HZ, hits) == pytest.approx(3.0, abs=1e-6)
    assert measure_gain_at_hits(before, before, RATE_HZ, np.zeros(200, dtype=bool)) is None
    assert spread_hits(hits, 2000, 0.001).tolist() == list(range(980, 1150))
