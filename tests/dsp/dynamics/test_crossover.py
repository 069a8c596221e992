"""Crossovers: their magnitude, and that the bands add up to the sound."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.sounds import noise
from trainer.dsp.dynamics.crossover import BandSplitter, count_half_frames, design_low_pass

RATE_HZ = 48000
CORNERS_HZ = (120.0, 800.0, 5000.0)
ALL = (0, 1, 2, 3)


def _split(rows: np.ndarray, wanted: tuple[int, ...] = ALL) -> tuple[np.ndarray, list[np.ndarray]]:
    return BandSplitter(CORNERS_HZ, RATE_HZ, wanted).split(rows)


def test_the_bands_add_up_flat() -> None:
    """FFT of an impulse through all four bands: the sum is a delay, within 1e-9 dB at every frequency."""
    impulse = np.zeros((2, 1 << 15))
    impulse[:, 100] = 1.0
    _, bands = _split(impulse)
    response = np.fft.rfft(np.sum(bands, axis=0)[0])
    np.testing.assert_allclose(20 * np.log10(np.abs(response)), 0.0, atol=1e-9)
    late = count_half_frames(CORNERS_HZ[0], RATE_HZ)
    wished = np.exp(-2j * np.pi * np.arange(response.size) * (100 + late) / (1 << 15))
    np.testing.assert_allclose(response, wished, atol=1e-9)


@pytest.mark.parametrize("corner_hz", CORNERS_HZ)
def test_a_low_pass_is_that_of_linkwitz_and_riley(corner_hz: float) -> None:
    """Closed form: two Butterworth filters of second order, 1 / (1 + (f/fc)^4), up to two octaves above the corner."""
    kernel = design_low_pass(corner_hz, count_half_frames(corner_hz, RATE_HZ), RATE_HZ)
    assert kernel.size % 2 == 1
    np.testing.assert_array_equal(kernel, kernel[::-1])
    frequencies = corner_hz * np.array([0.1, 0.5, 1.0, 2.0, 4.0])
    frequencies = frequencies[frequencies < 0.3 * RATE_HZ]
    read = np.array([abs((kernel * np.exp(-2j * np.pi * f / RATE_HZ * np.arange(kernel.size))).sum())
                     for f in frequencies.tolist()])  # fmt: skip
    wished = 1 / (1 + (frequencies / corner_hz) ** 4)
    np.testing.assert_allclose(20 * np.log10(read), 20 * np.log10(wished), atol=0.35)
    at_corner = 20 * np.log10(read[2])
    assert at_corner == pytest.approx(-6.02, abs=0.05)


def test_what_rings_ahead_is_short() -> None:
    """Closed form of the decay, √2 e^(−√2 π fc t): 60 dB down within 14 ms at 120 Hz, on both sides."""
    kernel = design_low_pass(120.0, count_half_frames(120.0, RATE_HZ), RATE_HZ)
    middle = kernel.size // 2
    far = np.abs(kernel[: middle - round(0.014 * RATE_HZ)])
    assert 20 * np.log10(far.max() / kernel[middle]) < -60


def test_blocks_of_any_size_give_the_same() -> None:
    """Against the whole at once: −200 dB, in blocks by lot."""
    rows = noise(20000, 0.3, 1).T.copy()
    _, wished = _split(rows)
    splitter, rng, parts, start = BandSplitter(CORNERS_HZ, RATE_HZ, ALL), np.random.default_rng(2), [], 0
    while start < rows.shape[1]:
        size = int(rng.choice([1, 7, 480, 3000]))
        parts.append(np.stack(splitter.split(rows[:, start : start + size])[1]))
        start += size
    assert np.abs(np.concatenate(parts, axis=2) - np.stack(wished)).max() < 1e-10


def test_a_band_alone_is_the_same_band() -> None:
    """By construction: what is not asked for is not calculated, and changes nothing."""
    rows = noise(9000, 0.3, 3).T.copy()
    late, bands = _split(rows)
    for number in ALL:
        alone_late, alone = _split(rows, (number,))
        np.testing.assert_array_equal(alone_late, late)
        np.testing.assert_allclose(alone[0], bands[number], atol=1e-12)
