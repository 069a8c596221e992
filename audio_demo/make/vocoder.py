"""A channel vocoder: the strength of each band of a voice rules the same band of another sound."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from scipy import signal as sps

from .filters import equalise, high_cut, low_cut
from .signal import RATE_HZ, Audio, Curve

_BANDS = 26
_LOWEST_HZ, _HIGHEST_HZ = 140.0, 9500.0
_FOLLOW_HZ = 38.0
_HISS_FROM_HZ = 4800.0


def _strength(band: Curve) -> Curve:
    """Smoothed size of a band."""
    smooth = sps.butter(2, _FOLLOW_HZ, fs=RATE_HZ, output="sos")
    return np.asarray(np.maximum(sps.sosfilt(smooth, np.abs(band)), 0.0), dtype=np.float64)


def vocode(voice: Audio, carrier: Audio, rng: np.random.Generator, *, hiss: float) -> Audio:
    """Return the carrier speaking the voice's words; two channels.

    Parameters
    ----------
    voice : Audio
        Shape (frames, 1).
    carrier : Audio
        Shape (frames, 2), rich in harmonics.
    rng : numpy.random.Generator
        For the noise of the consonants.
    hiss : float
        0–2, how much noise stands in for consonants, which a chord cannot say.
    """
    edges_hz = np.geomspace(_LOWEST_HZ, _HIGHEST_HZ, _BANDS + 1)
    spoken = equalise(voice, (low_cut(100.0),))[:, 0].astype(np.float64)
    out = np.zeros(carrier.shape)
    for low_hz, high_hz in pairwise(edges_hz.tolist()):
        cut = sps.butter(2, (low_hz, high_hz), "bandpass", fs=RATE_HZ, output="sos")
        band = sps.sosfilt(cut, carrier.astype(np.float64), axis=0)
        even = _strength(band.mean(axis=1)) + 0.03 * float(np.abs(band).max() + 1e-9)
        # The carrier's own colour is taken out halfway, so that the upper formants are heard.
        out += band / np.sqrt(even)[:, None] * _strength(sps.sosfilt(cut, spoken))[:, None]
    noise = rng.standard_normal(carrier.shape) * 0.35 + rng.standard_normal((len(carrier), 1))
    sharp = equalise(voice, (low_cut(_HISS_FROM_HZ), low_cut(_HISS_FROM_HZ)))[:, 0].astype(np.float64)
    breath = np.asarray(noise * _strength(sharp)[:, None], dtype=np.float32)
    air = equalise(breath, (low_cut(4500.0), high_cut(15_000.0)))
    scale = float(np.abs(out).max()) / max(float(np.abs(spoken).max()), 1e-9)
    return np.asarray(out + hiss * scale * air, dtype=np.float32)
