"""Filters that move: a bank of fixed low-passes, between whose outputs the sound is led."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .filters import equalise, high_cut
from .signal import RATE_HZ, Audio, Curve

_FILTERS_PER_OCTAVE = 4


def through_points(points: Sequence[tuple[float, float]], frames: int) -> Curve:
    """Return corner frequencies through (seconds, hertz) points, straight in octaves between them."""
    times = np.array([time for time, _ in points])
    octaves = np.log2([hz for _, hz in points])
    return np.asarray(2.0 ** np.interp(np.arange(frames) / RATE_HZ, times, octaves), dtype=np.float64)


def swept(audio: Audio, corner_hz: Curve, *, q: float = 1.1) -> Audio:
    """Return the sound through a moving low-pass of 24 dB per octave.

    Changing the coefficients of a running filter clicks. Neighbours of a bank a quarter of an octave
    apart are nearly alike, so that fading from one to the next does not.
    """
    place = np.log2(np.clip(corner_hz, 25.0, 19_000.0)) * _FILTERS_PER_OCTAVE
    out = np.zeros(audio.shape, dtype=np.float64)
    for step in range(int(np.floor(place.min())), int(np.ceil(place.max())) + 1):
        share = np.clip(1.0 - np.abs(place - step), 0.0, 1.0)
        if not np.any(share > 0.0):
            continue
        centre_hz = min(2.0 ** (step / _FILTERS_PER_OCTAVE), 20_000.0)
        out += share[:, None] * equalise(audio, (high_cut(centre_hz, 0.6), high_cut(centre_hz, q)))
    return np.asarray(out, dtype=np.float32)
