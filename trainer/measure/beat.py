"""The beat, and what a moving gain does at it: how deep it goes on a hit, how much is back before the next."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.contents import pass_band
from trainer.measure.hits import (
    FRAME_S,
    KICK_BAND_HZ,
    KICK_STEPS,
    average_steps,
    find_hits,
    find_kicks,
    follow_peaks,
)
from trainer.measure.reduction import Reduction

Flags = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int_]

BEAT_SPACING_S = 0.15
# Softer strokes, as of a hat between two beats, are no beat.
BEAT_BELOW_TALLEST_DB = 10.0
# A hit this near to a low hit belongs to it.
SNARE_FROM_KICK_S = 0.06
# A hit is found in steps of 10 ms: its onset may lie two of them before.
ONSET_BEFORE_S = 0.02
# So long after its onset a hit may drive the gain further down.
DEEPEST_WITHIN_S = 0.15
BACK_WITHIN_S = 0.03
KICK_LATE_STEPS = 6
KICK_BELOW_WHOLE_DB = 15.0
# Below this a share of the reduction says nothing.
LEAST_DEPTH_DB = 0.05


@dataclass(frozen=True)
class Movement:
    """How the gain moves from beat to beat.

    Parameters
    ----------
    swing_db : float
        Deepest reduction on a beat less the smallest before the next one, mean over the beats, dB.
    recovery_percent : float or None
        Share of the reduction on the beats that is back just before the next ones, %; None where there is next to no
        reduction.
    """

    swing_db: float
    recovery_percent: float | None


@dataclass(frozen=True)
class Strokes:
    """Where the drums are, one value to a step of 10 ms each.

    Parameters
    ----------
    beats : ndarray of bool, shape (steps,)
        Hits and low hits whose peak comes within 10 dB of the tallest, 150 ms apart or more.
    kicks : ndarray of bool, shape (steps,)
        Low hits, with a good part of their power between 35 and 110 Hz.
    snares : ndarray of bool, shape (steps,)
        Hits without a low hit within 60 ms, whose peak comes within 10 dB of the tallest such hit.
    """

    beats: Flags
    kicks: Flags
    snares: Flags


def find_strokes(samples: npt.NDArray[np.floating], rate_hz: int) -> Strokes:
    """Find beats, kicks and snares.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The sound.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    Strokes
    """
    steps = follow_peaks(samples, rate_hz)
    peaks = scipy.ndimage.maximum_filter1d(steps, 5)
    hits, kicks = find_hits(samples, rate_hz), _pull_to_onsets(_find_low_kicks(samples, rate_hz), steps)
    width = 2 * int(round(SNARE_FROM_KICK_S / FRAME_S)) + 1
    near_kick = scipy.ndimage.maximum_filter1d(kicks.astype(np.uint8), width) > 0
    return Strokes(_space_out(_keep_tall(hits | kicks, peaks)), kicks, _keep_tall(hits & ~near_kick, peaks))


def _find_low_kicks(samples: npt.NDArray[np.floating], rate_hz: int) -> Flags:
    """Find kicks, leaving out what is low only by the skirts of a bright hit."""
    sides = samples.astype(np.float64)
    low = scipy.ndimage.uniform_filter1d(average_steps(pass_band(sides, KICK_BAND_HZ, rate_hz), rate_hz), KICK_STEPS)
    whole = scipy.ndimage.uniform_filter1d(average_steps(sides, rate_hz), KICK_STEPS)
    return np.asarray(find_kicks(samples, rate_hz) & (low > whole * 10 ** (-KICK_BELOW_WHOLE_DB / 10)))


def _pull_to_onsets(kicks: Flags, peaks: npt.NDArray[np.float64]) -> Flags:
    """Move each low hit, found by a smooth power, to the steepest rise of the peaks in the 60 ms before."""
    rises = np.diff(peaks, prepend=0.0)
    onsets = np.zeros(kicks.size, dtype=bool)
    for place in np.flatnonzero(kicks).tolist():
        first = max(0, place - KICK_LATE_STEPS)
        onsets[first + int(rises[first : place + 1].argmax())] = True
    return onsets


def _keep_tall(found: Flags, peaks: npt.NDArray[np.float64]) -> Flags:
    """Leave out what is 10 dB below the tallest."""
    tallest = peaks[found].max(initial=0.0)
    return np.asarray(found & (peaks >= tallest * 10 ** (-BEAT_BELOW_TALLEST_DB / 20)))


def _space_out(found: Flags) -> Flags:
    """Leave out what comes within 150 ms of the one before."""
    kept, last = np.zeros(found.size, dtype=bool), -(10**9)
    for place in np.flatnonzero(found).tolist():
        if place - last >= BEAT_SPACING_S / FRAME_S:
            kept[place], last = True, place
    return kept


def measure_at_hits(reduction: Reduction, hits: Flags) -> float | None:
    """Average the deepest reduction between 20 ms before and 150 ms after each hit.

    Parameters
    ----------
    reduction : Reduction
        Of a round of a loop: what lies behind its end is its beginning.
    hits : ndarray of bool, shape (steps of 10 ms,)
        Where to look.

    Returns
    -------
    float or None
        dB; None without hits.
    """
    values, step_s = reduction.reduction_db, reduction.step_s
    starts = _find_onsets(hits, step_s)
    if starts.size == 0 or values.size == 0:
        return None
    return float(values[_window(starts, values.size, step_s)].max(axis=1).mean())


def measure_gain_at_hits(
    before: npt.NDArray[np.floating], after: npt.NDArray[np.floating], rate_hz: int, hits: Flags
) -> float | None:
    """Measure the gain from one round of a loop to another on hits, from 20 ms before to 150 ms after each.

    Parameters
    ----------
    before, after : ndarray, shape (frames, channels)
        Both versions.
    rate_hz : int
        Sampling rate.
    hits : ndarray of bool, shape (steps of 10 ms,)
        Where to look.

    Returns
    -------
    float or None
        The least-squares gain over all windows together, dB; None without hits.
    """
    if not hits.any():
        return None
    windows = spread_hits(hits, before.shape[0], 1 / rate_hz)
    x, y = before[windows].astype(np.float64), after[windows].astype(np.float64)
    return float(20 * np.log10(max(float((x * y).sum()), 1e-30) / max(float((x * x).sum()), 1e-30)))


def spread_hits(hits: Flags, size: int, step_s: float) -> Places:
    """List the steps, of ``size`` round the loop, from 20 ms before to 150 ms after each hit."""
    return _window(_find_onsets(hits, step_s), size, step_s).reshape(-1)


def measure_movement(reduction: Reduction, beats: Flags) -> Movement:
    """Measure swing and recovery from each beat to the next, round the loop.

    Parameters
    ----------
    reduction : Reduction
        Of a round of a loop, one step or more.
    beats : ndarray of bool, shape (steps of 10 ms,)
        Where the beats are; without any the whole round counts as one.

    Returns
    -------
    Movement
    """
    values, step_s = reduction.reduction_db, reduction.step_s
    starts = _find_onsets(beats, step_s)
    starts = starts if starts.size else np.zeros(1, dtype=int)
    ends = np.append(starts[1:], starts[0] + values.size)
    found = np.array([_read_beat(values, a, b, step_s) for a, b in zip(starts.tolist(), ends.tolist(), strict=True)])
    deepest, lowest, at_end = found.mean(axis=0).tolist()
    share = 100 * (deepest - at_end) / deepest if deepest >= LEAST_DEPTH_DB else None
    return Movement(deepest - lowest, share)


def _read_beat(values: npt.NDArray[np.float64], start: int, end: int, step_s: float) -> tuple[float, float, float]:
    """Read the deepest reduction on a beat, and after it the lowest and the last before the next beat."""
    part = values[np.arange(start, max(end, start + 1)) % values.size]
    on_hit = part[: max(1, int(round((ONSET_BEFORE_S + DEEPEST_WITHIN_S) / step_s)))]
    place = int(on_hit.argmax())
    after = part[place:]
    return float(part[place]), float(after.min()), float(after[-max(1, int(BACK_WITHIN_S / step_s)) :].min())


def _window(starts: Places, size: int, step_s: float) -> Places:
    """Give the steps in which a hit shows, shape (hits, steps), round the loop."""
    length = max(1, int(round((ONSET_BEFORE_S + DEEPEST_WITHIN_S) / step_s)))
    return np.asarray((starts[:, None] + np.arange(length)) % size)


def _find_onsets(hits: Flags, step_s: float) -> Places:
    """Give the first step, maybe below 0, that may belong to each hit."""
    return np.asarray(np.round((np.flatnonzero(hits) * FRAME_S - ONSET_BEFORE_S) / step_s), dtype=int)
