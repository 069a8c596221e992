"""The loud sections of a song, so that chorus is compared with chorus."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from trainer.measure import standards
from trainer.measure.loudness_trace import LoudnessTrace
from trainer.measure.steps import STEP_S

Span = tuple[float, float]

# The loudest quarter of a song is most often its chorus, and long enough to average; common practice, no source.
LOUD_SHARE = 0.25
LEAST_COMPARED_S = 10.0
GRID_STEPS = 10


def find_loud_spans(
    loudness: LoudnessTrace, share: float = LOUD_SHARE, least_s: float = LEAST_COMPARED_S
) -> tuple[Span, ...]:
    """Find the spans of 3 s and more that are the loudest part of a song by short-term loudness.

    Parameters
    ----------
    loudness : LoudnessTrace
        Of the whole song.
    share : float
        How much of it they are, 0 to 1.
    least_s : float
        They are this long at least, or as long as the song.

    Returns
    -------
    tuple of (float, float)
        Start and end, s, in order, apart from each other; the whole where it is shorter than 3 s; empty for silence.
    """
    width = round(standards.SHORT_TERM_S / STEP_S)
    levels = loudness.short_term_lufs[::GRID_STEPS]
    heard = np.flatnonzero(levels > standards.ABSOLUTE_GATE_LUFS)
    if loudness.power.size < width:
        return ((0.0, loudness.power.size * STEP_S),) if math.isfinite(loudness.integrated_lufs) else ()
    if heard.size == 0:
        return ()
    order = heard[np.argsort(-levels[heard], kind="stable")]
    wished = min(max(share * loudness.power.size, least_s / STEP_S), loudness.power.size)
    low, high = 1, order.size
    while low < high:
        middle = (low + high) // 2
        low, high = (
            (low, middle) if _cover(order[:middle], loudness.power.size, width).sum() >= wished else (middle + 1, high)
        )
    covered = _cover(order[:low], loudness.power.size, width)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], covered, [False]]).astype(np.int8)))
    return tuple((first * STEP_S, last * STEP_S) for first, last in edges.reshape(-1, 2).tolist())


def _cover(places: npt.NDArray[np.int_], steps: int, width: int) -> npt.NDArray[np.bool_]:
    """Mark the steps that lie in a stretch of 3 s beginning at one of some places of the grid."""
    marks = np.zeros(steps + width + 1, dtype=np.int_)
    np.add.at(marks, places * GRID_STEPS, 1)
    np.add.at(marks, places * GRID_STEPS + width, -1)
    return np.asarray(np.cumsum(marks)[:steps] > 0)
