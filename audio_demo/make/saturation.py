"""Saturation of a bus: a soft curve at four times the rate, at the loudness that came in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import signal as sps

from .facts import loudness_lufs
from .signal import RATE_HZ, Audio, db_to_gain

_OVERSAMPLING = 4
# Pieces, so that four times the rate does not need a gigabyte; the overlap is thrown away.
_PIECE = 10 * RATE_HZ
_OVERLAP = 2048
_ROUNDING = ("kaiser", 8.0)


@dataclass(frozen=True)
class Drive:
    """How hard a bus is driven: gain into the curve over its own loud moments, and the curve.

    ``hardness`` of 2 bends early, of 6 goes straight and turns sharply; ``bias`` moves the curve off
    its middle and adds even harmonics.
    """

    gain_db: float
    hardness: float = 2.0
    bias: float = 0.0


def _bent(x: Audio, hardness: float) -> Audio:
    """The curve x / (1 + |x|ⁿ)^(1/n): slope one at nought, never beyond one."""
    power = np.float32(hardness)
    return np.asarray(x / (1.0 + np.abs(x) ** power) ** (1.0 / power), dtype=np.float32)


def saturate(audio: Audio, drive: Drive) -> Audio:
    """Return the sound through the curve, without regard to level: full scale is where the curve ends."""
    out = np.zeros_like(audio)
    gain, bias = np.float32(db_to_gain(drive.gain_db)), np.float32(drive.bias)
    rest = _bent(np.array([bias], dtype=np.float32), drive.hardness)
    for start in range(0, len(audio), _PIECE):
        first = max(0, start - _OVERLAP)
        piece = audio[first : start + _PIECE + _OVERLAP]
        high = sps.resample_poly(piece, _OVERSAMPLING, 1, axis=0, window=_ROUNDING).astype(np.float32)
        bent = _bent(gain * high + bias, drive.hardness) - rest
        low = sps.resample_poly(bent, 1, _OVERSAMPLING, axis=0, window=_ROUNDING)
        end = min(start + _PIECE, len(audio))
        out[start:end] = low[start - first : end - first]
    return out


def loud_level(audio: Audio) -> float:
    """Return the level of the loud moments: the 99th percentile of the samples that sound at all."""
    size = np.abs(audio)
    sounding = size[size > 1e-4]
    return float(np.percentile(sounding, 99.0)) if len(sounding) else 1.0


def driven(audio: Audio, drive: Drive) -> Audio:
    """Return a bus driven by ``gain_db`` over its loud moments, as loud as before."""
    bent = saturate(np.asarray(audio / np.float32(loud_level(audio)), dtype=np.float32), drive)
    return bent * np.float32(db_to_gain(loudness_lufs(audio) - loudness_lufs(bent)))
