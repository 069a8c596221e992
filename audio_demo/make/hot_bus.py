"""The mix bus of somebody who wants it loud: a limiter left on, and what it misses cut off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import minimum_filter1d, uniform_filter1d

from .signal import RATE_HZ, Audio, Curve, db_to_gain, frames_in

# A recursion over every frame is slow in Python; 0.17 ms is short against any release.
_STEP = 8


@dataclass(frozen=True)
class Limiter:
    """Gain into the limiter, where it holds, where the cut is, both in dBFS, and its times in ms."""

    gain_db: float
    hold_dbfs: float
    cut_dbfs: float
    ahead_ms: float
    release_ms: float


def _recovered(wanted_db: Curve, release_ms: float) -> Curve:
    """Gain per step: down at once, back with the release."""
    keep = float(np.exp(-1000.0 * _STEP / RATE_HZ / release_ms))
    out, now = np.empty_like(wanted_db), 0.0
    for index, target in enumerate(wanted_db.tolist()):
        now = min(target, target + keep * (now - target))
        out[index] = now
    return out


def limit(audio: Audio, unit: Limiter) -> Audio:
    """Return the sound limited and cut: no sample lies beyond ``cut_dbfs``."""
    loud = audio * np.float32(db_to_gain(unit.gain_db))
    steps = -(-len(loud) // _STEP)
    padded = np.zeros((steps * _STEP, loud.shape[1]), dtype=np.float32)
    padded[: len(loud)] = loud
    level_db = 20.0 * np.log10(np.maximum(np.abs(padded).reshape(steps, -1).max(axis=1), 1e-6))
    wanted_db = np.minimum(0.0, unit.hold_dbfs - level_db).astype(np.float64)
    ahead = max(1, frames_in(unit.ahead_ms / 1000.0) // _STEP)
    early_db = minimum_filter1d(wanted_db, 2 * ahead + 1)
    gain_db = uniform_filter1d(_recovered(early_db, unit.release_ms), 2 * ahead + 1)
    centres = (np.arange(steps) + 0.5) * _STEP
    gain = 10.0 ** (np.interp(np.arange(len(loud)), centres, gain_db) / 20.0)
    top = np.float32(db_to_gain(unit.cut_dbfs))
    return np.clip(np.asarray(loud * gain[:, None], dtype=np.float32), -top, top)


def led_out(audio: Audio, *, fade_s: float = 2.2, still_s: float = 0.3) -> Audio:
    """Return the song with what the reverb has left led into silence; nothing before the fade is touched."""
    out = audio.copy()
    fade, still = frames_in(fade_s), frames_in(still_s)
    curve = 0.5 + 0.5 * np.cos(np.pi * np.arange(fade) / fade)
    out[len(out) - still - fade : len(out) - still] *= curve[:, None].astype(np.float32)
    out[len(out) - still :] = 0.0
    return out
