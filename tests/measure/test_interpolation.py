"""Interpolation between the samples against the sampling theorem and plain filtering."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import firwin, upfirdn

from tests.measure.sounds import noise
from trainer.measure.interpolation import (
    design_interpolator,
    design_short_interpolator,
    find_peaks_between,
    find_peaks_in_stretches,
)


@pytest.mark.parametrize(("phases", "taps", "beta"), [(4, 32, 6.0), (16, 128, 8.0)])
def test_design_is_a_kaiser_windowed_sinc(phases: int, taps: int, beta: float) -> None:
    """Against scipy's firwin with a Kaiser window: the same prototype, phase by phase, each of unit gain at 0 Hz."""
    length = phases * taps + 1
    prototype = firwin(length, 1 / phases, window=("kaiser", beta)) * phases
    filters = design_interpolator(phases, taps, beta)
    assert filters.shape == (phases, taps)
    np.testing.assert_allclose(filters.sum(axis=1), 1.0, atol=1e-6)
    for phase in range(phases):
        # Tap k of a phase lies k - (taps/2 - 1) - phase/phases samples from the place that is read.
        places = length // 2 + phases * (np.arange(taps) - (taps // 2 - 1)) - phase
        np.testing.assert_allclose(filters[phase], prototype[places], atol=1e-3)


@pytest.mark.parametrize("frequency_hz", [100.0, 5000.0, 12000.0, 18000.0, 20000.0])
def test_each_phase_reads_a_sine_between_its_samples(frequency_hz: float) -> None:
    """Sampling theorem: between samples lies the sine itself."""
    filters = design_interpolator(16, 128, 8.0).astype(np.float64)
    wave = np.sin(2 * np.pi * frequency_hz / 48000 * np.arange(400) + 0.4)
    read = np.lib.stride_tricks.sliding_window_view(wave, 128) @ filters.T
    places = np.arange(read.shape[0])[:, None] + 63 + np.arange(16)[None, :] / 16
    np.testing.assert_allclose(read, np.sin(2 * np.pi * frequency_hz / 48000 * places + 0.4), atol=2e-4)


@pytest.mark.parametrize("factor", [2, 4])
def test_short_design_is_hann_windowed_sinc_of_49_taps(factor: int) -> None:
    """libebur128's interpolator (its source, interp_create): sinc(m/factor) times a Hann window over 49 taps."""
    m = np.arange(49) - 24
    prototype = np.sinc(m / factor) * 0.5 * (1 - np.cos(2 * np.pi * np.arange(49) / 48))
    signal = noise(300, 0.3, 1)[:, 0]
    wished = upfirdn(prototype, signal, up=factor)
    filters = design_short_interpolator(factor).astype(np.float64)
    assert filters.shape == (factor, -(-49 // factor))
    taps = filters.shape[1]
    read = np.lib.stride_tricks.sliding_window_view(np.pad(signal, taps - 1), taps) @ filters.T
    np.testing.assert_allclose(read.reshape(-1)[: wished.size], wished, atol=1e-6)


def test_above_192_khz_the_short_reading_is_the_samples() -> None:
    """libebur128 leaves sound of 192 kHz and more as it is (its documentation)."""
    filters = design_short_interpolator(1)
    np.testing.assert_allclose(filters[0], np.eye(49)[24], atol=1e-12)


@pytest.mark.parametrize("frames", [1, 63, 64, 65, 1000, 40000])
def test_peaks_are_those_of_plain_filtering(frames: int) -> None:
    """Against numpy, frame by frame: the highest magnitude over the phases."""
    filters = design_interpolator(4, 32, 6.0)
    signal = noise(frames + 31, 0.3, frames)[:, 0]
    wished = np.abs(np.lib.stride_tricks.sliding_window_view(signal, 32) @ filters.T.astype(np.float64)).max(axis=1)
    read = find_peaks_between(signal, filters)
    assert read.shape == (frames,)
    np.testing.assert_allclose(read, wished, atol=1e-6)


def test_chosen_stretches_are_rows_of_the_whole() -> None:
    """Definition: stretch k holds frames 64 k to 64 k + 63."""
    filters = design_interpolator(4, 32, 6.0)
    signal = noise(64 * 20 + 31, 0.3, 3)[:, 0]
    whole = find_peaks_between(signal, filters).reshape(-1, 64)
    chosen = np.array([0, 7, 8, 19])
    np.testing.assert_allclose(find_peaks_in_stretches(signal, filters, chosen), whole[chosen], atol=1e-6)
    assert find_peaks_in_stretches(signal, filters, np.array([], dtype=int)).shape == (0, 64)


def test_filters_cannot_be_spoilt() -> None:
    """They are shared from call to call, so they must be read-only."""
    for filters in (design_interpolator(4, 32, 6.0), design_short_interpolator(4)):
        with pytest.raises(ValueError, match="read-only"):
            filters[0, 0] = 1.0
