"""The waveform between the samples: windowed-sinc interpolation as matrix products.

The signal is cut into short stretches, each with the taps' overlap; one product with a banded Toeplitz matrix
gives all phases of a stretch at once, which is several times faster than filtering phase by phase.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

STRETCH = 64
ROWS_AT_ONCE = 512

Filters = npt.NDArray[np.float32]


@lru_cache(maxsize=8)
def design_interpolator(phases: int, taps: int, beta: float) -> Filters:
    """Design a Kaiser-windowed sinc interpolator, shape (phases, taps), phase 0 being the sample itself.

    Each phase is scaled to unit gain at 0 Hz. ``taps`` is even: as many samples on either side.
    """
    places = np.arange(phases)[:, None] / phases
    distance = np.arange(taps)[None, :] - (taps // 2 - 1) - places
    window = np.i0(beta * np.sqrt(np.clip(1 - (distance / (taps / 2)) ** 2, 0, 1))) / np.i0(beta)
    filters = np.sinc(distance) * window
    filters /= filters.sum(axis=1, keepdims=True)
    return _freeze(filters)


@lru_cache(maxsize=4)
def design_short_interpolator(factor: int) -> Filters:
    """Design the 49-tap Hann-windowed sinc that libebur128 reads true peaks with, shape (factor, taps).

    Knowing what a widespread meter will show lets a ceiling be kept on that meter as well.
    """
    taps = 49
    distance = (np.arange(taps) - (taps - 1) / 2) / factor
    window = 0.5 * (1 - np.cos(2 * np.pi * np.arange(taps) / (taps - 1)))
    prototype = np.sinc(distance) * window
    length = -(-taps // factor)
    filters = np.zeros((factor, length))
    for phase in range(factor):
        picked = prototype[phase::factor][::-1]
        filters[phase, length - picked.size :] = picked
    return _freeze(filters)


def find_peaks_between(signal: npt.NDArray[np.floating], filters: Filters) -> npt.NDArray[np.float32]:
    """Find, for every frame, the highest magnitude that the interpolated wave has at it or after it.

    Parameters
    ----------
    signal : ndarray, shape (frames + taps - 1,)
        One channel with the taps' context already on both sides.
    filters : ndarray, shape (phases, taps)
        The interpolator.

    Returns
    -------
    ndarray of float32, shape (frames,)
        Magnitudes; full scale is 1.0.
    """
    frames = signal.size - filters.shape[1] + 1
    stretches = np.arange(-(-frames // STRETCH))
    return find_peaks_in_stretches(signal, filters, stretches).reshape(-1)[:frames]


def find_peaks_in_stretches(
    signal: npt.NDArray[np.floating], filters: Filters, stretches: npt.NDArray[np.int_]
) -> npt.NDArray[np.float32]:
    """Do as `find_peaks_between` in chosen stretches of 64 frames only, shape (stretches, 64).

    The last stretch may end behind the signal; what is missing there counts as silence.
    """
    phases, taps = filters.shape
    count = -(-(signal.size - taps + 1) // STRETCH)
    padded = np.zeros(count * STRETCH + taps - 1, dtype=np.float32)
    padded[: signal.size] = signal
    view = np.lib.stride_tricks.sliding_window_view(padded, STRETCH + taps - 1)[::STRETCH]
    matrix = _spread(filters.tobytes(), phases, taps)
    peaks = np.empty((stretches.size, STRETCH), dtype=np.float32)
    most = min(ROWS_AT_ONCE, stretches.size)
    values = np.empty((most, phases * STRETCH), dtype=np.float32)
    for first in range(0, stretches.size, ROWS_AT_ONCE):
        rows = view[stretches[first : first + ROWS_AT_ONCE]]
        read = np.matmul(rows, matrix, out=values[: rows.shape[0]])
        np.abs(read, out=read)
        peaks[first : first + ROWS_AT_ONCE] = _highest_of_phases(read, phases)
    return peaks


def _highest_of_phases(values: npt.NDArray[np.float32], phases: int) -> npt.NDArray[np.float32]:
    """Fold rows of phases, a power of two, each STRETCH wide, to their highest values, in place."""
    while phases > 1:
        phases //= 2
        width = phases * STRETCH
        np.maximum(values[:, :width], values[:, width : 2 * width], out=values[:, :width])
    return values[:, :STRETCH]


@lru_cache(maxsize=8)
def _spread(filters: bytes, phases: int, taps: int) -> npt.NDArray[np.float32]:
    """Spread the filters to the banded matrix of a stretch, shape (STRETCH + taps - 1, phases * STRETCH)."""
    kernel = np.frombuffer(filters, dtype=np.float32).reshape(phases, taps)
    matrix = np.zeros((STRETCH + taps - 1, phases, STRETCH), dtype=np.float32)
    for place in range(STRETCH):
        matrix[place : place + taps, :, place] = kernel.T
    return matrix.reshape(STRETCH + taps - 1, phases * STRETCH)


def _freeze(filters: npt.NDArray[np.float64]) -> Filters:
    frozen = np.ascontiguousarray(filters, dtype=np.float32)
    frozen.setflags(write=False)
    return frozen
