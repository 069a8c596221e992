"""Noise that goes with a part: bow, breath and strings where the sound font has nothing left to say."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy import signal as sps

from .filters import Band, equalise, low_cut
from .signal import Audio, db_to_gain


def with_air(
    audio: Audio, rng: np.random.Generator, *, above_hz: float, bands: Sequence[Band], level_db: float
) -> Audio:
    """Return a part with noise that is as strong from moment to moment as the part above a corner.

    Parameters
    ----------
    audio : Audio
        A part of one or two channels; each gets its own noise.
    rng : Generator
        Source of the noise.
    above_hz : float
        Only what the part has above this rules the strength, so that low notes stay clean.
    bands : sequence of Band
        Colour of the noise.
    level_db : float
        Strength of the white noise before its colour against what rules it.
    """
    ruling = equalise(audio, (low_cut(above_hz), low_cut(above_hz)))
    smooth = sps.butter(2, 60.0, fs=48_000, output="sos")
    strength = np.maximum(sps.sosfiltfilt(smooth, np.abs(ruling), axis=0), 0.0)
    noise = np.asarray(rng.standard_normal(audio.shape) * strength, dtype=np.float32)
    return audio + np.float32(db_to_gain(level_db)) * equalise(noise, bands)
