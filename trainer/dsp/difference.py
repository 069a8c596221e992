"""Only what changed: the level-matched difference of two loops, to be heard by itself."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.matching import PEAK_MARGIN_DB, turn_loop
from trainer.measure.loudness import measure_loop_level_db
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_loop_true_peak


@dataclass(frozen=True)
class Difference:
    """Hold the difference and its level against the song, dB (minus infinity if nothing changed)."""

    loop: Clip
    level_db: float


def make_difference(before: Clip, after: Clip, linear: bool) -> Difference:
    """Make what is to be heard of a change by itself.

    Parameters
    ----------
    before, after : Clip
        Two loudness-matched rounds of one loop.
    linear : bool
        For a filter, whose phase would make the plain difference lie, the magnitudes of the two spectra are
        subtracted and the phase of the loop is kept. For every other move: sample by sample.

    Returns
    -------
    Difference
    """
    x, y = before.samples.astype(np.float64), after.samples.astype(np.float64)
    changed = _subtract_magnitudes(x, y) if linear else y - x
    loop = before.with_samples(changed)
    level_db = measure_loop_level_db(loop.samples, loop.rate_hz)
    if math.isfinite(level_db):
        level_db -= measure_loop_level_db(before.samples, before.rate_hz)
    return Difference(loop, level_db)


def hold_below_ceiling(change: Difference) -> Difference:
    """Turn a difference down where its own peaks would pass the ceiling of all that is played."""
    peak = measure_loop_true_peak(change.loop.samples, change.loop.rate_hz).dbtp
    excess = peak - (CEILING_DBTP - PEAK_MARGIN_DB)
    return change if excess <= 0 else Difference(turn_loop(change.loop, -excess), change.level_db - excess)


def _subtract_magnitudes(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Subtract the spectra's magnitudes, line by line, at the phase of ``x``."""
    spectrum = np.fft.rfft(x, axis=0)
    size = np.abs(spectrum)
    ratio = np.abs(np.fft.rfft(y, axis=0)) / np.maximum(size, 1e-12 * max(float(size.max()), 1e-30)) - 1.0
    return np.asarray(np.fft.irfft(spectrum * ratio, n=x.shape[0], axis=0))
