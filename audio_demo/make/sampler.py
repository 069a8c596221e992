"""The sound of an early sampler: half the rate, held and hardly smoothed, at twelve bits."""

from __future__ import annotations

import numpy as np
from scipy import signal as sps

from .signal import RATE_HZ, Audio

_BITS = 12
# The filter before the converter; its gentle edge leaves a little that folds back.
_EDGE_HZ = 10_500.0
# The filter behind it lets most of the images pass.
_SMOOTH_HZ = 18_000.0


def sampled(audio: Audio) -> Audio:
    """Return the sound as such a machine gives it back: images above 12 kHz, and the grain of its steps."""
    edge = sps.butter(5, _EDGE_HZ, fs=RATE_HZ, output="sos")
    smooth = sps.butter(4, _SMOOTH_HZ, fs=RATE_HZ, output="sos")
    loudest = float(np.abs(audio).max()) or 1.0
    filtered = sps.sosfilt(edge, audio.astype(np.float64), axis=0) / loudest
    steps = 2.0 ** (_BITS - 1)
    coarse = np.round(filtered[::2] * steps) / steps
    held = np.repeat(coarse, 2, axis=0)[: len(audio)]
    return np.asarray(sps.sosfilt(smooth, held, axis=0) * loudest, dtype=np.float32)
