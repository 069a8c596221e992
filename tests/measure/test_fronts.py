"""The fronts of hits over a song, by construction."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import sine
from tests.measure.test_beat import drums
from trainer.measure.beat import find_strokes
from trainer.measure.fronts import compare_fronts, measure_fronts_over_song
from trainer.measure.weighting import weight_k

RATE_HZ = 48000
SNARES_S = (0.5, 1.5, 2.5)


def test_a_front_turned_down_shows_as_that_and_a_body_does_not() -> None:
    """By construction: a louder tone carries the song; bursts 6.02 dB down on their first 15 ms, or after it."""
    song = drums((), SNARES_S, 4.0) + sine(300.0, 0.5, 4 * RATE_HZ, RATE_HZ, fade_s=0.05)
    drum = drums((), SNARES_S, 4.0)
    hits = find_strokes(drum, RATE_HZ).snares
    assert hits.sum() == 3
    since = np.full(drum.shape[0], 1.0)
    for place in SNARES_S:
        first = round(place * RATE_HZ)
        since[first:] = np.arange(drum.shape[0] - first) / RATE_HZ
    front, body = np.where(since < 0.015, 0.5, 1.0)[:, None], np.where(since < 0.015, 1.0, 0.5)[:, None]
    was = _read(drum, hits)
    assert _read(drum * front, hits) - was == pytest.approx(-6.02, abs=0.3)
    assert _read(drum * body, hits) - was == pytest.approx(0.0, abs=0.1)
    # A level on everything moves neither.
    assert measure_fronts_over_song(0.2 * song, RATE_HZ, hits) == pytest.approx(
        measure_fronts_over_song(song, RATE_HZ, hits), abs=1e-6
    )


def _read(drum: np.ndarray, hits: np.ndarray) -> float:
    """Read the front's level with the song's level taken out."""
    value = measure_fronts_over_song(drum, RATE_HZ, hits)
    assert value is not None
    return value + 10 * float(np.log10((weight_k(drum, RATE_HZ) ** 2).sum(axis=1).mean()))


def test_the_loudest_10_ms_are_an_effective_value() -> None:
    """By hand: in steps of 1 ms a power of 4 for 10 ms about a hit, weighted power 1: 6.02 dB; half as long: 3.01."""
    power = np.zeros(1000)
    power[495:505] = 4.0
    hits = np.zeros(100, dtype=bool)
    hits[50] = True
    assert compare_fronts(power, np.ones(1000), 0.001, hits) == pytest.approx(6.0206, abs=1e-3)
    power[500:505] = 0.0
    assert compare_fronts(power, np.ones(1000), 0.001, hits) == pytest.approx(3.0103, abs=1e-3)


def test_without_hits_or_sound_there_is_no_front() -> None:
    """Contract of the docstring."""
    assert measure_fronts_over_song(np.ones((4800, 2)), RATE_HZ, np.zeros(10, dtype=bool)) is None
    assert measure_fronts_over_song(np.ones((1, 2)), RATE_HZ, np.ones(1, dtype=bool)) is None
    silent = measure_fronts_over_song(np.zeros((4800, 2)), RATE_HZ, np.ones(10, dtype=bool))
    assert silent is not None and np.isfinite(silent)
