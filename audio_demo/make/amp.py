"""Guitar and bass amplifiers: tightening filter, two oversampled stages, loudspeaker."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import signal as sps

from .filters import Band, bell, convolve, drawn_filter, equalise, high_cut, high_shelf, low_cut, low_shelf
from .signal import RATE_HZ, Audio, db_to_gain

_OVERSAMPLING = 8
# The stretch is processed in pieces so that eight times the rate does not need a gigabyte.
_PIECE = 10 * RATE_HZ
_OVERLAP = 4096

# Level over frequency of a closed guitar cabinet with a dynamic microphone before the cone:
# drawn by hand after the usual shape (common practice, no source).
GUITAR_CABINET = (
    (40.0, -30.0),
    (75.0, -9.0),
    (110.0, 1.5),
    (220.0, 0.0),
    (420.0, -4.0),
    (800.0, -2.0),
    (1500.0, 1.0),
    (2700.0, 4.5),
    (3900.0, 2.5),
    (5200.0, -3.0),
    (7000.0, -13.0),
    (10000.0, -21.0),
    (16000.0, -32.0),
    (24000.0, -48.0),
)
BRIGHT_CABINET = (
    (40.0, -26.0),
    (80.0, -7.0),
    (130.0, 1.0),
    (350.0, -2.5),
    (900.0, -1.0),
    (2200.0, 3.0),
    (3600.0, 4.5),
    (5600.0, 1.0),
    (8000.0, -7.0),
    (11000.0, -15.0),
    (16000.0, -26.0),
    (24000.0, -42.0),
)


@dataclass(frozen=True)
class Amp:
    """Settings of an amplifier; drive is the gain into each stage after the part is levelled."""

    drive_db: float
    second_drive_db: float
    bias: float
    tight_hz: float
    cabinet: tuple[tuple[float, float], ...]
    tone: tuple[Band, ...] = ()


CRUNCH_LEFT = Amp(21.0, 7.0, 0.18, 130.0, GUITAR_CABINET, (bell(650.0, 2.0, 0.8), high_shelf(3000.0, 2.0)))
CRUNCH_RIGHT = Amp(18.0, 9.0, 0.10, 110.0, BRIGHT_CABINET, (bell(1100.0, 2.5, 0.8), low_shelf(200.0, -1.0)))
EDGE = Amp(8.0, 2.0, 0.25, 90.0, BRIGHT_CABINET, (low_shelf(400.0, 3.0),))
BASS_GRIT = Amp(16.0, 4.0, 0.2, 140.0, GUITAR_CABINET, (high_cut(4500.0),))


def _bend(x: Audio, bias: float) -> Audio:
    """Saturate asymmetrically; the offset of the bias is taken off again."""
    return np.asarray(np.tanh(x + np.float32(bias)) - np.float32(np.tanh(bias)), dtype=np.float32)


def _stages(x: Audio, amp: Amp) -> Audio:
    """Both stages at the high rate, with the dulling of the coupling between them."""
    x = _bend(x * np.float32(db_to_gain(amp.drive_db)), amp.bias)
    coupling = sps.butter(1, (90.0, 9000.0), "bandpass", fs=RATE_HZ * _OVERSAMPLING, output="sos")
    x = np.asarray(sps.sosfilt(coupling, x, axis=0), dtype=np.float32)
    return _bend(x * np.float32(db_to_gain(amp.second_drive_db)), -0.5 * amp.bias)


def _oversampled(audio: Audio, amp: Amp) -> Audio:
    """Run the stages piece by piece at eight times the rate, with overlap thrown away."""
    out = np.zeros_like(audio)
    for start in range(0, len(audio), _PIECE):
        first = max(0, start - _OVERLAP)
        piece = audio[first : start + _PIECE + _OVERLAP]
        high = sps.resample_poly(piece, _OVERSAMPLING, 1, axis=0, window=("kaiser", 8.0))
        bent = _stages(np.asarray(high, dtype=np.float32), amp)
        low = sps.resample_poly(bent, 1, _OVERSAMPLING, axis=0, window=("kaiser", 8.0))
        end = min(start + _PIECE, len(audio))
        out[start:end] = low[start - first : end - first]
    return out


def amplify(dry: Audio, amp: Amp) -> Audio:
    """Return a dry part as played through the amplifier, at the same length and channels."""
    tightened = equalise(dry, (low_cut(amp.tight_hz), *amp.tone))
    loud = np.abs(tightened)
    level = float(np.percentile(loud[loud > 1e-4], 95.0)) if np.any(loud > 1e-4) else 1.0
    driven = _oversampled(np.asarray(tightened / (4.0 * level), dtype=np.float32), amp)
    return convolve(driven, drawn_filter(amp.cabinet))
