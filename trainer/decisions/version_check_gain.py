"""How much louder a version is than its master where both hold the same sound, although parts of it are missing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

Samples = npt.NDArray[np.float32]
Table = npt.NDArray[np.float64]

FRAME = 2048
# Lines are joined to bands, and so many short spectra to one step: a piece is one band of one step.
JOINED, STEPS_A_MOMENT = 4, 12
BANDS = np.unique(np.concatenate([np.arange(2, 10, 2), np.round(np.geomspace(10, 0.4 * FRAME, 28)).astype(int)]))
# Independent figures in a piece, both sides together.
FREEDOM = 24
# Pieces in which the version is so soft say nothing: against its loudest moment, and against the master there.
FAINT, COVERED = 1e-7, 1e-4
MOST_TURN_RAD = 0.2
BEST_SHARE, FEWEST_BEST = 0.05, 200
FEWEST_PIECES = 30
CLEAR_DEPTH, MOMENT_ERROR_DB = 0.1, 0.1
FEWEST_MOMENTS = 5
# The gain moves if its moments differ by so much, and by far more than they are sure.
LEAST_MOVE_DB, SURE = 0.1, 10.0
THROUGHOUT_DB = -45.0
# Float32 samples cannot tell less than this from nothing.
LEAST_LEFT = 1e-12


@dataclass(frozen=True)
class SharedGain:
    """Hold the gain of a version where it holds the same sound as its master.

    Parameters
    ----------
    gain_db : float
        The most frequent one; above 0 where the version is louder.
    error_db : float
        It is sure to so much, either way, in 95 of 100 cases.
    low_db, high_db : float
        Between these lie nine tenths of the moments' gains, each of about a second.
    moves : bool
        Whether the moments differ by more than they are unsure.
    depth_db : float
        What the master holds besides, against what is shared, in the pieces that the gain was read from.
    throughout : bool
        Whether the two are the same but for the gain.
    """

    gain_db: float
    error_db: float
    low_db: float
    high_db: float
    moves: bool
    depth_db: float
    throughout: bool


@dataclass(frozen=True)
class _Pieces:
    """Gain of each piece, dB, what is left in it, and which pieces say something; shape (steps, bands)."""

    gain_db: Table
    left: Table
    clear: npt.NDArray[np.bool_]


def find_shared_gain(main: Samples, version: Samples, polarity: int) -> SharedGain | None:
    """Find the gain of a version from the pieces of time and spectrum in which it is all that the master holds.

    Parameters
    ----------
    main, version : ndarray of float32, shape (frames, 2)
        In step, of one length.
    polarity : int
        −1 where the version is upside down.

    Returns
    -------
    SharedGain or None
        None where too few pieces are alike.

    Notes
    -----
    In each piece the master is read from the version by least squares, H = <version, master> / <version, version>:
    what else sounds in the master is noise to it, and biases nothing (J. S. Bendat, A. G. Piersol, "Random Data",
    single input, output noise).
    """
    pieces = _read_pieces(main, version, polarity)
    if pieces.clear.sum() < FEWEST_PIECES:
        return None
    gains, left = pieces.gain_db[pieces.clear], pieces.left[pieces.clear]
    best = np.argsort(left)[: max(FEWEST_BEST, round(BEST_SHARE * left.size))]
    low, middle, high = np.percentile(gains[best], [10, 50, 90])
    # A normal spread has 2.56 sigma between these; a median errs by 1.25 sigma over the root of the count.
    error = 1.96 * 1.25 * (high - low) / 2.56 / math.sqrt(best.size)
    moments, errors = _read_moments(pieces)
    lowest, highest = (float(value) for value in np.percentile(moments, [5, 95]))
    moves = highest - lowest > LEAST_MOVE_DB + SURE * float(np.median(errors))
    return SharedGain(
        gain_db=_find_most_frequent(gains[best]) if moves else float(middle),
        error_db=float(error),
        low_db=lowest,
        high_db=highest,
        moves=bool(moves),
        depth_db=10 * math.log10(float(np.median(left[best]))),
        throughout=10 * math.log10(float(np.percentile(left, 90))) < THROUGHOUT_DB,
    )


def _read_pieces(main: Samples, version: Samples, polarity: int) -> _Pieces:
    """Read the master from the version, piece by piece."""
    whole, cross, own = _sum_powers(main, version)
    transfer = polarity * np.conj(cross) / np.maximum(own, 1e-30)
    left = np.clip(1 - np.abs(cross) ** 2 / np.maximum(whole * own, 1e-30), LEAST_LEFT, 1.0)
    sounding = (own > FAINT * own.sum(axis=1).max(initial=0.0)) & (own > COVERED * whole)
    upright = (transfer.real > 0) & (np.abs(transfer.imag) < MOST_TURN_RAD * transfer.real)
    return _Pieces(-20 * np.log10(np.abs(transfer) + 1e-30), left, sounding & upright)


def _sum_powers(main: Samples, version: Samples) -> tuple[Table, npt.NDArray[np.complex128], Table]:
    """Sum power of the master, cross-power and power of the version over each piece; shape (steps, bands)."""
    hop = FRAME // 2
    step = JOINED * hop
    count = max(0, (main.shape[0] - FRAME + hop) // step)
    block = 8 * STEPS_A_MOMENT
    found: list[tuple[npt.NDArray[np.complex128], ...]] = []
    for first in range(0, count, block):
        steps = min(block, count - first)
        ends = slice(first * step, (first + steps) * step - hop + FRAME)
        one, two = (_transform(samples[ends]) for samples in (main, version))
        found.append(tuple(_join(a * np.conj(b)) for a, b in ((one, one), (two, one), (two, two))))
    if not found:
        empty = np.zeros((0, BANDS.size - 1))
        return empty, empty.astype(np.complex128), empty
    whole, cross, own = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return whole.real, cross, own.real


def _transform(samples: Samples) -> npt.NDArray[np.complexfloating]:
    """Make short spectra, half over each other; shape (spectra, 2, lines)."""
    frames = np.lib.stride_tricks.sliding_window_view(samples, FRAME, axis=0)[:: FRAME // 2]
    return np.asarray(scipy.fft.rfft(frames * np.hanning(FRAME).astype(np.float32), axis=2)[:, :, : BANDS[-1]])


def _join(power: npt.NDArray[np.complexfloating]) -> npt.NDArray[np.complex128]:
    """Join both sides, lines to bands, and spectra to steps."""
    bands = np.add.reduceat(power.sum(axis=1, dtype=np.complex128), BANDS[:-1], axis=1)
    return np.asarray(bands.reshape(-1, JOINED, bands.shape[1]).sum(axis=1))


def _read_moments(pieces: _Pieces) -> tuple[Table, Table]:
    """Read a gain for every moment that gives a sure one, and by how much each may be wrong, dB."""
    clear = pieces.clear & (pieces.left < CLEAR_DEPTH)
    variance = (20 / math.log(10)) ** 2 * pieces.left / (1 - np.minimum(pieces.left, 0.9)) / FREEDOM + 1e-8
    gains: list[float] = []
    errors: list[float] = []
    for first in range(0, clear.shape[0], STEPS_A_MOMENT):
        part = slice(first, first + STEPS_A_MOMENT)
        weights = 1 / variance[part][clear[part]]
        if weights.size >= 3:
            gains.append(_weigh_median(pieces.gain_db[part][clear[part]], weights))
            errors.append(float(weights.sum() ** -0.5))
    if not gains:
        return np.array([float(np.median(pieces.gain_db[pieces.clear]))]), np.array([math.inf])
    sure = np.array(errors) < MOMENT_ERROR_DB
    if sure.sum() < FEWEST_MOMENTS:
        sure = np.array(errors) <= np.sort(errors)[:FEWEST_MOMENTS][-1]
    return np.array(gains)[sure], np.array(errors)[sure]


def _weigh_median(values: Table, weights: Table) -> float:
    """Give the median of values that count differently."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(total, total[-1] / 2)])


def _find_most_frequent(values: Table) -> float:
    """Find the middle of the narrowest third of some values."""
    ordered = np.sort(values)
    width = max(2, ordered.size // 3)
    spans = ordered[width - 1 :] - ordered[: ordered.size - width + 1]
    first = int(spans.argmin())
    return float(np.median(ordered[first : first + width]))
