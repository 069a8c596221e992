"""Two recordings of one song brought into step: by how much one is late, which way up, which side is which."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import maximum_filter1d

from trainer.measure.lag_search import Sketch, find_lags, sketch_song
from trainer.measure.piece_likeness import Piece, compare_pieces, count_lags, refine_lag

Samples = npt.NDArray[np.float32]
Wave = npt.NDArray[np.float64]

SAME_SONG = 0.2
# With so much in common there is no need to look for a better place.
SURE_LIKENESS = 0.5
LEAST_OVERLAP_S = 4.0
CANDIDATES, CANDIDATES_OF_SIDES = 4, 2
# The figure is the lower quartile of the pieces: a quarter of them may be edited, muted or covered.
QUARTILE = 25
# Pieces agree on a lag if they do so within that many frames.
AGREE_FRAMES = 3
# A piece with less in common says nothing of the delay.
LEAST_LIKENESS = 0.06
FEWEST_PIECES = 4
# A difference of clocks counts if it moves the ends of the song apart by so much, and by far more than the pieces err.
LEAST_SLIP_FRAMES = 0.5
SURE = 4.0
# A side has to hold so much of what is common before its sign is believed.
LEAST_SHARE = 0.15
SWAP_MARGIN = 0.01
STRAIGHT, CROSSED = (0, 3), (1, 2)


@dataclass(frozen=True)
class Alignment:
    """Say how one recording lies against another.

    Parameters
    ----------
    offset_frames : float
        What is at the start of the first is at this frame of the other: above 0 where the other is late.
    drift_ppm : float
        By how many millionths the other's clock makes it longer; 0 where none can be told.
    polarity : int
        1, or −1 where the other is upside down.
    swapped : bool
        Whether its left and right have changed places.
    turned_side : str
        ``left`` or ``right`` where that side alone of the other, its sides put right, is upside down; else empty.
    correlation : float
        How much of the fine structure is common, 0 to 1.

    Notes
    -----
    A correlation of `SAME_SONG` or more makes it one song. Measured on the five demo songs, 40 s of each: the same
    song through every move of this program at its strongest and through MP3, Vorbis and Opus down to 40, 64 and
    16 kb/s gave 0.29 and more (0.44 and more from 32 kb/s on, and without saturation, clipping or noise as loud as
    the song); different songs 0.02 and less; different sections of one song 0.12 and less, save a stretch of 9 s
    that is repeated nearly sample by sample. `tests.long` prints both.
    """

    offset_frames: float
    drift_ppm: float
    polarity: int
    swapped: bool
    turned_side: str
    correlation: float

    @property
    def same_song(self) -> bool:
        """Whether the two are recordings of one song."""
        return self.correlation >= SAME_SONG

    def offset_at(self, frame: float) -> float:
        """Give the offset at a frame of the first."""
        return self.offset_frames + 1e-6 * self.drift_ppm * frame


@dataclass(frozen=True)
class _Fit:
    """Pieces at a lag, with the line of lags, from that lag, that they agree on best."""

    lag: int
    pieces: tuple[Piece, ...]
    lags: Wave
    correlation: float


def align_songs(first: Samples, other: Samples, rate_hz: int) -> Alignment:
    """Find how a recording lies against another, over all of both.

    Parameters
    ----------
    first, other : ndarray of float32, shape (frames, 2)
        The recordings; they may begin and end anywhere, and differ in level, spectrum, dynamics, coding, sign and
        sides.
    rate_hz : int
        Rate of both.

    Returns
    -------
    Alignment
        To a small part of a frame; see `Alignment.same_song` before believing it.
    """
    fit = _search(first, other, rate_hz)
    if fit is None:
        return Alignment(0.0, 0.0, 1, False, "", 0.0)
    swapped = _tell_swapped(fit)
    values = _read_at(fit, CROSSED if swapped else STRAIGHT).mean(axis=0)
    polarity, turned = _tell_signs(values)
    offset, drift_ppm = _fit_line(fit, swapped, values)
    return Alignment(offset, drift_ppm, polarity, swapped, turned, fit.correlation)


def _search(first: Samples, other: Samples, rate_hz: int) -> _Fit | None:
    """Try the likeliest lags of the middle; where none fits, those of the sides."""
    best: _Fit | None = None
    for ways, count in (((0, 1, 0, 1),), CANDIDATES), (((1, 0, 1, 0), (1, 0, 0, 1), (0, 1, 1, 0)), CANDIDATES_OF_SIDES):
        for way in ways:
            for lag in _list_lags(_mix(first, way[:2], rate_hz), _mix(other, way[2:], rate_hz), count):
                fit = _try(first, other, lag, rate_hz)
                if fit is not None and (best is None or fit.correlation > best.correlation):
                    best = fit
                if best is not None and best.correlation >= SURE_LIKENESS:
                    return best
        if best is not None and best.correlation >= SAME_SONG:
            return best
    return best
