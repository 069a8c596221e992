"""How alike pieces of two recordings are at every small lag, side against side, whatever was done to their spectrum."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import scipy

Samples = npt.NDArray[np.float32]
Wave = npt.NDArray[np.float64]
Lines = npt.NDArray[np.complex128]

PIECES, PIECE_S = 16, 1.4
# A band that every codec keeps. Its lines count less the higher they are, as octaves would.
BAND_HZ = (150.0, 10000.0)
SLOPE = 0.5
AROUND_S = 0.025
# Lines so far below the tallest of a piece hold nothing that could be compared, nor do pieces so far below the others.
LINE_FLOOR = 1e-9
QUIET = 1e-5
NEWTON_STEPS = 3
FURTHEST_FROM_TOP = 1.5
# For what filters did, wider: edges, and how many.
BANDS, BANDS_HZ = 59, (40.0, 20000.0)
# Sides of the first and of the other: left-left, left-right, right-left, right-right.
PAIRS = 4


@dataclass(frozen=True)
class Piece:
    """Hold the likeness of one piece.

    Parameters
    ----------
    frame : int
        Middle of the piece in the first recording.
    likeness : ndarray, shape (lags, 4)
        Whitened cross-correlation of the sides, left-left, left-right, right-left, right-right; for equal pieces
        left-left and right-right add up to 1. The middle row is the lag that was assumed.
    lines : ndarray of complex, shape (lines, 4)
        Its spectrum within the band.
    turn_rad : ndarray, shape (lines,)
        By how much a delay of one frame turns each line.
    bands : ndarray, shape (bands, 2)
        Power of the first and of the other in narrow bands, whose edges `list_band_edges` gives.
    """

    frame: int
    likeness: Wave = field(repr=False)
    lines: Lines = field(repr=False)
    turn_rad: Wave = field(repr=False)
    bands: Wave = field(repr=False)


def compare_pieces(first: Samples, other: Samples, lag: int, rate_hz: int) -> tuple[Piece, ...]:
    """Compare pieces of two recordings, spread over what they have in common at a lag.

    Parameters
    ----------
    first, other : ndarray of float32, shape (frames, 2)
        The recordings, both of one rate.
    lag : int
        What is at frame n of the first is near frame n + lag of the other, within 25 ms.
    rate_hz : int
        Rate of both.

    Returns
    -------
    tuple of Piece
        At most 16, without those that are nearly silent in either.

    Notes
    -----
    The phase transform of C. H. Knapp and G. C. Carter, "The generalized correlation method for estimation of time
    delay", IEEE Trans. ASSP 24(4), 1976, on both sides at once.
    """
    start, stop = max(0, -lag), min(first.shape[0], other.shape[0] - lag)
    frames = min(scipy.fft.next_fast_len(int(PIECE_S * rate_hz), real=True), stop - start)
    if frames <= 0:
        return ()
    spectra = [
        (place, _transform(first[place : place + frames], rate_hz), _transform(other[place + lag :][:frames], rate_hz))
        for place in np.unique(np.linspace(start, stop - frames, PIECES).astype(int)).tolist()
    ]
    powers = np.array([[_power(one).sum(), _power(two).sum()] for _, one, two in spectra])
    loud = (powers > QUIET * powers.max(axis=0) + 1e-20).all(axis=1)
    return tuple(
        _compare(place + frames // 2, one, two, frames, rate_hz)
        for (place, one, two), keep in zip(spectra, loud.tolist(), strict=True)
        if keep
    )


def refine_lag(piece: Piece, lag: float, weights: Wave, phase_rad: Wave | float = 0.0) -> tuple[float, float]:
    """Find the top of a piece's likeness between the frames.

    Parameters
    ----------
    piece : Piece
        The piece.
    lag : float
        Where to begin, frames from the lag that was assumed, within half a frame or so of the top.
    weights : ndarray, shape (4,)
        How each pair of sides counts, with its sign.
    phase_rad : ndarray, shape (lines,), optional
        By how much a filter turned each line of the other.

    Returns
    -------
    tuple of float
        The place of the top, frames from the lag that was assumed, and its height, 1 where all lines agree.
    """
    turn = piece.turn_rad
    # The octaves' slope is for telling songs apart; for the delay every line counts the same.
    lines = (piece.lines @ weights) * turn**SLOPE * np.exp(-1j * np.asarray(phase_rad))
    whole = float(np.abs(lines).sum())
    place = lag
    for _ in range(NEWTON_STEPS):
        turned = lines * np.exp(1j * turn * place)
        bend = float((turn**2 * turned.real).sum())
        if bend <= 0:
            return lag, 0.0
        place -= float((turn * turned.imag).sum()) / bend
    height = float((lines * np.exp(1j * turn * place)).real.sum()) / max(whole, 1e-30)
    return (place, height) if abs(place - lag) <= FURTHEST_FROM_TOP else (lag, 0.0)


def list_band_edges(rate_hz: int) -> Wave:
    """List the edges of the narrow bands, Hz."""
    return np.geomspace(BANDS_HZ[0], min(BANDS_HZ[1], 0.45 * rate_hz), BANDS + 1)


def count_lags(rate_hz: int) -> int:
    """Count the lags on either side of the one that was assumed."""
    return int(AROUND_S * rate_hz)


def _transform(piece: Samples, rate_hz: int) -> Lines:
    """Transform both sides of a piece, with room behind it for the lags; shape (lines, 2)."""
    return np.asarray(scipy.fft.rfft(piece * _make_window(piece.shape[0]), _length(piece.shape[0], rate_hz), axis=0))


@lru_cache(maxsize=4)
def _make_window(frames: int) -> Samples:
    return np.hanning(frames).astype(np.float32)[:, None]


def _power(lines: Lines) -> Wave:
    """Power of both sides together, line by line."""
    return np.asarray((lines.real**2 + lines.imag**2).sum(axis=1), dtype=np.float64)


def _compare(middle: int, one: Lines, two: Lines, frames: int, rate_hz: int) -> Piece:
    """Whiten the cross-spectra of all pairs of sides, and turn them into likeness."""
    band, length = _band(frames, rate_hz), _length(frames, rate_hz)
    hertz = scipy.fft.rfftfreq(length, 1 / rate_hz)
    bands = np.stack([_sum_bands(_power(lines), hertz, rate_hz) for lines in (one, two)], axis=1)
    one, two = one[band], two[band]
    share = hertz[band] ** -SLOPE
    power = [values + LINE_FLOOR * values.max() + 1e-30 for values in (_power(one), _power(two))]
    weight = share / share.sum() / np.sqrt(power[0] * power[1])
    cross = (np.conj(one)[:, :, None] * two[:, None, :]).reshape(-1, PAIRS) * weight[:, None]
    spectrum = np.zeros((hertz.size, PAIRS), dtype=np.complex64)
    spectrum[band] = cross
    likeness = scipy.fft.irfft(spectrum, length, axis=0) * (length / 2)
    side = count_lags(rate_hz)
    around = np.concatenate([likeness[-side:], likeness[: side + 1]])
    return Piece(middle, around, cross, 2 * np.pi * hertz[band] / rate_hz, bands)


def _sum_bands(power: Wave, hertz: Wave, rate_hz: int) -> Wave:
    """Power in each narrow band."""
    total = np.concatenate([[0.0], np.cumsum(power)])
    return np.diff(total[np.searchsorted(hertz, list_band_edges(rate_hz))])


def _length(frames: int, rate_hz: int) -> int:
    return scipy.fft.next_fast_len(frames + count_lags(rate_hz), real=True)


def _band(frames: int, rate_hz: int) -> slice:
    """Lines of the band."""
    width = rate_hz / _length(frames, rate_hz)
    return slice(int(np.ceil(BAND_HZ[0] / width)), int(min(BAND_HZ[1], 0.45 * rate_hz) / width) + 1)
