"""Ducking as an effect: a gain drawn from the written kicks, not followed from their sound."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .score import Note
from .signal import Audio, Curve, frames_in

_LEAD_S = 0.006


def _dip(return_s: float) -> Curve:
    """One dip from nothing to all and back: down before the hit, up again with rounded ends."""
    down = 0.5 - 0.5 * np.cos(np.pi * np.arange(frames_in(_LEAD_S)) / frames_in(_LEAD_S))
    held = np.ones(frames_in(0.025))
    up = 0.5 + 0.5 * np.cos(np.pi * np.arange(frames_in(return_s)) / frames_in(return_s))
    return np.concatenate([down, held, up])


def pumped(audio: Audio, kicks: Sequence[Note], *, depth_db: float, return_ms: float) -> Audio:
    """Return the sound turned down by ``depth_db`` at every kick, back after ``return_ms``."""
    dip = _dip(return_ms / 1000.0)
    depth = np.zeros(len(audio))
    for kick in kicks:
        start = max(0, frames_in(kick.start_s - _LEAD_S))
        end = min(len(depth), start + len(dip))
        depth[start:end] = np.maximum(depth[start:end], dip[: end - start] * min(1.0, kick.velocity / 106.0))
    # A new hit before the return is over would jump; a short average takes the corner off.
    width = frames_in(0.003)
    smooth = np.convolve(depth, np.ones(width) / width, mode="same")
    return np.asarray(audio * (10.0 ** (-depth_db * smooth / 20.0))[:, None], dtype=np.float32)
