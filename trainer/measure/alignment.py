"""Two recordings of one song brought into step: by how much one is late, which way up, which side is which."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.lag_search import Sketch, find_lags, sketch_song
from trainer.measure.minimum_phase import find_minimum_phase
from trainer.measure.piece_likeness import Piece, compare_pieces, list_band_edges, refine_lag

Samples = npt.NDArray[np.float32]
Wave = npt.NDArray[np.float64]
Places = npt.NDArray[np.int_]

SAME_SONG = 0.2
# With so much in common there is no need to look for a better place.
SURE_LIKENESS = 0.5
# A hair less than the shortest stretch, as places are known to a few frames at first.
LEAST_OVERLAP_S = 3.9
# Lags nearer to one that was tried are looked at with it.
BESIDE_S = 0.01
# Which rows are looked for in which, and how many places are tried: a side that is upside down spoils the middle.
ROWS = {"middle": (0.5, 0.5), "left": (1.0, 0.0), "right": (0.0, 1.0)}
WAYS = (
    (("middle", "middle"), 4),
    (("left", "left"), 1),
    (("right", "right"), 1),
    (("left", "right"), 1),
    (("right", "left"), 1),
)
# The figure is the lower quartile of the pieces: a quarter of them may be edited, muted or covered.
QUARTILE = 25
# A piece with so much less in common than the median is something else.
ODD_SHARE = 0.33
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
# A filter's own phase is taken out where that leaves so much less of the lines at odds.
FILTERED = 0.5
BAND_FLOOR = 1e-9
SWAP_MARGIN = 0.01
STRAIGHT, CROSSED = [0, 3], [1, 2]


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
    odd_frames : tuple of int
        Frames of the first around which, of some sixteen places, the other has something else: an edit, a gap.

    Notes
    -----
    A correlation of `SAME_SONG` or more makes it one song. Measured on the five demo songs, 40 s of each, 440
    recordings: the same song through every move of this program at its strongest, through MP3, Vorbis and Opus down
    to 40, 64 and 16 kb/s, through other rates and clocks gave 0.30 and more, 0.49 and more in 95 of 100; the lowest
    are saturation of 40 %, Opus at 16 kb/s, noise as loud as the song, and clipping at −24 dBFS. Different songs gave
    0.02 and less. Of 125 pairs of different parts of one song 124 gave 0.12 and less; the other, 0.24, has 9 s in
    common in which the same bars are played again, nearly sample by sample. `tests.long` measures and prints both.
    """

    offset_frames: float
    drift_ppm: float
    polarity: int
    swapped: bool
    turned_side: str
    correlation: float
    odd_frames: tuple[int, ...] = ()

    @property
    def same_song(self) -> bool:
        """Whether the two are recordings of one song."""
        return self.correlation >= SAME_SONG

    def offset_at(self, frame: float) -> float:
        """Give the offset at a frame of the first."""
        return self.offset_frames + 1e-6 * self.drift_ppm * frame


class Recording:
    """Hold a recording with its sketches, each made when it is first asked for.

    Parameters
    ----------
    samples : ndarray of float32, shape (frames, 2)
        The sound.
    rate_hz : int
        Its rate.
    """

    def __init__(self, samples: Samples, rate_hz: int) -> None:
        self.samples, self.rate_hz = samples, rate_hz
        self._sketches: dict[str, Sketch] = {}

    def sketch(self, row: str) -> Sketch:
        """Sketch the middle, the left or the right."""
        if row not in self._sketches:
            self._sketches[row] = sketch_song(self.samples @ np.array(ROWS[row], dtype=np.float32), self.rate_hz)
        return self._sketches[row]


@dataclass(frozen=True)
class _Fit:
    """Pieces at a lag, the row of each piece's lags they agree on best, and what each has in common there."""

    lag: int
    pieces: tuple[Piece, ...]
    rows: Places
    common: Wave

    @property
    def correlation(self) -> float:
        """What all but a quarter of the pieces have in common."""
        return float(np.percentile(self.common, QUARTILE))

    @property
    def odd_frames(self) -> tuple[int, ...]:
        """Middles of the pieces that have far less in common than the others."""
        odd = self.common < ODD_SHARE * np.median(self.common)
        return tuple(piece.frame for piece, is_odd in zip(self.pieces, odd.tolist(), strict=True) if is_odd)


def align_songs(first: Recording, other: Recording) -> Alignment:
    """Find how a recording lies against another, over all of both.

    Parameters
    ----------
    first, other : Recording
        Both of one rate. They may begin and end anywhere, and differ in level, spectrum, dynamics, coding, sign and
        sides.

    Returns
    -------
    Alignment
        To a small part of a frame; see `Alignment.same_song` before believing it.
    """
    fit = _search(first, other)
    if fit is None:
        return Alignment(0.0, 0.0, 1, False, "", 0.0)
    swapped = _tell_swapped(fit)
    pair = CROSSED if swapped else STRAIGHT
    values = _read(fit)[:, pair].mean(axis=0)
    signs = np.where(np.abs(values) >= LEAST_SHARE * np.abs(values).sum(), np.sign(values), 0.0)
    weights = np.zeros(4)
    weights[list(pair)] = signs
    offset_frames, drift_ppm = _fit_line(fit, weights, first.rate_hz)
    turned = "" if signs.prod() >= 0 else ("left", "right")[int(signs[1] < 0)]
    polarity = -1 if not turned and signs.sum() < 0 else 1
    return Alignment(offset_frames, drift_ppm, polarity, swapped, turned, fit.correlation, fit.odd_frames)


def _search(first: Recording, other: Recording) -> _Fit | None:
    """Try the likeliest lags of the middle; where none fits, the likeliest of the sides."""
    best: _Fit | None = None
    tried: list[int] = []
    for rows, count in WAYS:
        for lag in _list_lags(first.sketch(rows[0]), other.sketch(rows[1]), count):
            if any(abs(lag - done) < BESIDE_S * first.rate_hz for done in tried):
                continue
            tried.append(lag)
            fit = _try(first, other, lag)
            if fit is not None and (best is None or fit.correlation > best.correlation):
                best = fit
            if best is not None and best.correlation >= SURE_LIKENESS:
                return best
        if best is not None and best.correlation >= SAME_SONG:
            return best
    return best


def _list_lags(first: Sketch, other: Sketch, count: int) -> tuple[int, ...]:
    """Look for the shorter recording in the longer one."""
    if first.wave.size <= other.wave.size:
        return find_lags(first, other, count)
    return tuple(-lag for lag in find_lags(other, first, count))


def _try(first: Recording, other: Recording, lag: int) -> _Fit | None:
    """Compare pieces at a lag; None where too little lies over each other."""
    overlap = min(first.samples.shape[0], other.samples.shape[0] - lag) - max(0, -lag)
    if overlap < LEAST_OVERLAP_S * first.rate_hz:
        return None
    pieces = compare_pieces(first.samples, other.samples, lag, first.rate_hz)
    if len(pieces) < FEWEST_PIECES:
        return None
    sizes = np.abs(np.stack([piece.likeness for piece in pieces]))
    either = sizes[:, :, STRAIGHT].sum(axis=2), sizes[:, :, CROSSED].sum(axis=2)
    likeness = max(either, key=lambda values: float(values.max(axis=1).mean()))
    near = scipy.ndimage.maximum_filter1d(likeness, 2 * AGREE_FRAMES + 1, axis=1)
    common = np.full(len(pieces), int(np.percentile(near, QUARTILE, axis=0).argmax()))
    line = _draw_line(likeness, np.array([piece.frame for piece in pieces]))
    numbers = np.arange(len(pieces))
    fits = [_Fit(lag, pieces, _pull_to_tops(likeness, rows), near[numbers, rows]) for rows in (common, line)]
    return max(fits, key=lambda fit: fit.correlation)


def _draw_line(likeness: Wave, frames: Places) -> Places:
    """Draw a line through the highest points of the pieces, as where clocks differ; a row for each piece."""
    tops = likeness.argmax(axis=1)
    slope, level = _fit_robustly(frames.astype(np.float64), tops.astype(np.float64))
    return np.asarray(np.clip(np.round(level + slope * frames).astype(int), 0, likeness.shape[1] - 1))


def _pull_to_tops(likeness: Wave, rows: Places) -> Places:
    """Move each piece's row to the highest point beside it."""
    reach = np.clip(rows[:, None] + np.arange(-AGREE_FRAMES, AGREE_FRAMES + 1), 0, likeness.shape[1] - 1)
    best = np.take_along_axis(likeness, reach, axis=1).argmax(axis=1)
    return np.asarray(reach[np.arange(rows.size), best])


def _fit_robustly(x: Wave, y: Wave) -> tuple[float, float]:
    """Fit a line by the median of all slopes (H. Theil, 1950; P. K. Sen, 1968): slope, and level at 0."""
    one, two = np.triu_indices(x.size, 1)
    slope = float(np.median((y[two] - y[one]) / (x[two] - x[one])))
    return slope, float(np.median(y - slope * x))


def _read(fit: _Fit) -> Wave:
    """Read the likeness of each pair of sides, with its sign, at the lag of each piece; shape (pieces, 4)."""
    return np.stack([piece.likeness[row] for piece, row in zip(fit.pieces, fit.rows.tolist(), strict=True)])


def _tell_swapped(fit: _Fit) -> bool:
    """Tell whether crossed sides are more alike than straight ones, by far more than the pieces differ in it."""
    sizes = np.abs(_read(fit))
    gain = sizes[:, CROSSED].sum(axis=1) - sizes[:, STRAIGHT].sum(axis=1)
    return bool(gain.mean() > max(SWAP_MARGIN, SURE * float(gain.std()) / np.sqrt(gain.size)))


def _fit_line(fit: _Fit, weights: Wave, rate_hz: int) -> tuple[float, float]:
    """Read the lag of each piece between the frames: offset at the start of the first, frames, and drift, ppm."""
    clear = np.abs(_read(fit) @ weights) >= LEAST_LIKENESS
    keep = clear if clear.sum() >= FEWEST_PIECES else np.ones(clear.size, dtype=bool)
    lags = _refine(fit, weights, rate_hz)[keep]
    frames = np.array([piece.frame for piece in fit.pieces], dtype=np.float64)[keep]
    slope, level = _fit_robustly(frames, lags)
    errors = np.abs(lags - level - slope * frames)
    doubt = 1.5 * float(np.median(errors)) / (float(frames.std()) * np.sqrt(frames.size))
    slips = abs(slope) * float(np.ptp(frames)) >= LEAST_SLIP_FRAMES and abs(slope) > SURE * doubt
    return (level, 1e6 * slope) if slips else (float(np.median(lags)), 0.0)


def _refine(fit: _Fit, weights: Wave, rate_hz: int) -> Wave:
    """Find each piece's lag between the frames, with an equaliser's own delay taken out if that makes them fit better.

    Most equalisers have the least phase that goes with their curve; some have none. The lines of the spectrum agree
    better on one delay with the phase taken out in the first case, and worse in the second.
    """
    powers = np.sum([piece.bands for piece in fit.pieces], axis=0)
    floor = BAND_FLOOR * powers.max(axis=0) + 1e-30
    change = 0.5 * np.log((powers[:, 1] + floor[1]) / (powers[:, 0] + floor[0]))
    edges = list_band_edges(rate_hz)
    turn = fit.pieces[0].turn_rad
    phase = find_minimum_phase(np.sqrt(edges[:-1] * edges[1:]), change, turn * rate_hz / (2 * np.pi), rate_hz)
    assumed = (fit.rows - fit.pieces[0].likeness.shape[0] // 2).tolist()
    pairs = list(zip(fit.pieces, assumed, strict=True))
    plain = np.array([refine_lag(piece, lag, weights) for piece, lag in pairs])
    own_frames = -float((turn * phase).sum() / (turn**2).sum())
    freed = np.array([refine_lag(piece, lag - own_frames, weights, phase) for piece, lag in pairs])
    unlike = [1 - float(np.median(found[:, 1])) for found in (plain, freed)]
    chosen = freed if unlike[1] < FILTERED * unlike[0] else plain
    return np.asarray(chosen[:, 0] + fit.lag)
