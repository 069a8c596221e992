"""Roughness of a gain that is known, and of a wave that follows itself."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import noise, sine
from trainer.measure.reduction import Reduction, measure_reduction
from trainer.measure.roughness import find_held_bass, measure_roughness_db

RATE_HZ = 48000
SECONDS = 2


@pytest.mark.parametrize("frequency_hz", [30.0, 70.0, 140.0])
@pytest.mark.parametrize("depth", [0.1, 0.003])
def test_a_known_ripple_is_read(frequency_hz: float, depth: float) -> None:
    """Closed form: a gain 1 + m cos(2 π f t) adds the note times that: 20 log10(m / √2), 0.4 dB for the 1 ms steps."""
    note = sine(55.0, 0.4, SECONDS * RATE_HZ, RATE_HZ)
    ripple = 1 + depth * np.cos(2 * np.pi * frequency_hz * np.arange(note.shape[0]) / RATE_HZ)
    reduction = measure_reduction(note, 0.7 * note * ripple[:, None], RATE_HZ, 0.7)
    read = measure_roughness_db(reduction, find_held_bass(note, RATE_HZ))
    assert read == pytest.approx(20 * np.log10(depth / np.sqrt(2)), abs=0.4)


def test_a_ripple_at_twice_the_note_is_its_third_harmonic_and_3_db() -> None:
    """Trigonometry: sin(a) cos(2a) has a line at three times the note, of half the ripple; read by a spectrum."""
    note = sine(50.0, 0.4, SECONDS * RATE_HZ, RATE_HZ)
    time = np.arange(note.shape[0]) / RATE_HZ
    after = note * (1 + 0.02 * np.cos(2 * np.pi * 100.0 * time + 0.7))[:, None]
    spectrum = np.abs(np.fft.rfft(after[:, 0]))
    third_db = 20 * np.log10(spectrum[150 * SECONDS] / spectrum[50 * SECONDS])
    read = measure_roughness_db(measure_reduction(note, after, RATE_HZ, 1.0), find_held_bass(note, RATE_HZ))
    assert read == pytest.approx(third_db + 3.01, abs=0.3)


def test_slow_movement_is_not_rough() -> None:
    """By definition: 4 Hz is movement."""
    note = sine(50.0, 0.4, SECONDS * RATE_HZ, RATE_HZ)
    swell = 1 + 0.3 * np.cos(2 * np.pi * 4.0 * np.arange(note.shape[0]) / RATE_HZ)
    read = measure_roughness_db(
        measure_reduction(note, note * swell[:, None], RATE_HZ, 1.0), np.ones(100 * SECONDS, dtype=bool)
    )
    assert read is not None and read < -60


def test_no_ripple_is_the_floor_and_no_bass_is_nothing() -> None:
    """By construction."""
    held = np.ones(100 * SECONDS, dtype=bool)
    assert measure_roughness_db(Reduction(0.001, np.full(2000, 3.0)), held) == -140
    assert measure_roughness_db(Reduction(0.001, np.full(2000, 3.0)), ~held) is None


def test_held_bass_is_found_where_it_was_put() -> None:
    """By construction: a note from 0.5 to 1.5 s between silence, and none in noise without bass or in nothing."""
    samples = np.zeros((SECONDS * RATE_HZ, 2))
    samples[RATE_HZ // 2 : 3 * RATE_HZ // 2] = sine(60.0, 0.4, RATE_HZ, RATE_HZ)
    found = np.flatnonzero(find_held_bass(samples, RATE_HZ)) * 0.01
    assert 0.5 < found.min() < 0.75 and 1.25 < found.max() < 1.5
    assert not find_held_bass(np.zeros((RATE_HZ, 2)), RATE_HZ).any()
    gated = noise(RATE_HZ, 0.1, 1) * (np.arange(RATE_HZ) % 9600 < 2400)[:, None]
    assert find_held_bass(gated, RATE_HZ).mean() < 0.1
