"""Analysis of a spoken line: pitch and smooth spectral envelope, frame by frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import signal as sps

from .signal import RATE_HZ, Audio, Curve

HOP = 240
FFT = 2048
GRID_HZ = np.fft.rfftfreq(FFT, 1.0 / RATE_HZ)
_LOWEST_HZ, _HIGHEST_HZ = 60.0, 260.0
# espeak-ng speaks at 22.05 kHz; beyond this edge the envelope is continued by a straight slope.
_EDGE_HZ = 9000.0
_AIR_DB_PER_OCTAVE = -9.0
# A formant synthesiser is empty between 5 and 8 kHz, a throat is not: the envelope never falls
# more than this (in nepers; 1 Np = 8.7 dB) under its presence range, less 8 dB per octave.
_BREATH_BELOW_NP = 1.8


@dataclass(frozen=True)
class Envelopes:
    """Natural-log magnitudes, shape (frames, FFT/2 + 1), one frame every ``HOP`` samples."""

    log_magnitude: Curve

    def at(self, times_s: Curve) -> Curve:
        """Return the envelopes at the given times, straight between frames."""
        place = np.clip(times_s * RATE_HZ / HOP, 0.0, len(self.log_magnitude) - 1.001)
        low = place.astype(np.int64)
        part = (place - low)[:, None]
        rows = self.log_magnitude
        return np.asarray((1.0 - part) * rows[low] + part * rows[low + 1], dtype=np.float64)


def _pitch_hz(frame: Curve) -> float:
    """Pitch by the first high peak of the normalised autocorrelation."""
    spectrum = np.fft.rfft(frame * np.hanning(len(frame)), 2 * len(frame))
    correlation = np.fft.irfft(np.abs(spectrum) ** 2)
    shortest, longest = int(RATE_HZ / _HIGHEST_HZ), int(RATE_HZ / _LOWEST_HZ)
    lags = correlation[shortest:longest]
    if lags.max() <= 0.0:
        return _HIGHEST_HZ / 2.0
    high = np.flatnonzero(lags > 0.85 * lags.max())
    peak = shortest + int(high[0]) + int(np.argmax(lags[high[0] : high[0] + 40]))
    return RATE_HZ / peak


def _smooth(frame: Curve, pitch_hz: float) -> Curve:
    """Pitch-adaptive envelope after M. Morise, "CheapTrick" (Speech Communication, 2015)."""
    power = np.abs(np.fft.rfft(frame, FFT)) ** 2
    step_hz = RATE_HZ / FFT
    width = max(1, round(2.0 * pitch_hz / 3.0 / step_hz))
    sums = np.cumsum(np.concatenate([power[width:0:-1], power, power[-2 : -width - 2 : -1]]))
    centre = np.arange(len(power)) + width
    flat = (sums[centre + width // 2] - sums[centre - (width + 1) // 2]) / width
    cepstrum = np.fft.irfft(np.log(flat + 1e-12))
    quefrency_s = np.minimum(np.arange(FFT), FFT - np.arange(FFT)) / RATE_HZ
    lifter = np.sinc(pitch_hz * quefrency_s)
    lifter *= 1.18 - 0.18 * np.cos(2.0 * np.pi * pitch_hz * quefrency_s)
    return np.asarray(0.5 * np.fft.rfft(cepstrum * lifter).real, dtype=np.float64)


def _continue_upwards(rows: Curve) -> Curve:
    """Fill what lies above the formants: a floor of breath, and a slope from the edge of the band on."""
    edge = int(np.searchsorted(GRID_HZ, _EDGE_HZ))
    inside = (GRID_HZ > 2500.0) & (GRID_HZ < 4500.0)
    presence = rows[:, inside].mean(axis=1, keepdims=True)
    octaves = np.maximum(np.log2(np.maximum(GRID_HZ, 1.0) / 4500.0), 0.0)
    floor = presence - _BREATH_BELOW_NP - 0.9 * octaves[None, :]
    rows = np.where(octaves[None, :] > 0.0, np.maximum(rows, floor), rows)
    start = rows[:, edge - 60 : edge].mean(axis=1, keepdims=True)
    slope = _AIR_DB_PER_OCTAVE * np.log(10.0) / 20.0 * np.log2(GRID_HZ[edge:] / _EDGE_HZ)
    return np.concatenate([rows[:, :edge], start + slope[None, :]], axis=1)


def analyse(speech: Audio) -> Envelopes:
    """Return the spectral envelopes of a spoken line of one channel."""
    x = np.pad(speech[:, 0].astype(np.float64), FFT)
    count = len(speech) // HOP + 1
    centres = FFT + HOP * np.arange(count)
    pitches = np.array([_pitch_hz(x[c - FFT // 2 : c + FFT // 2]) for c in centres])
    pitches = sps.medfilt(pitches, 9)
    rows = np.empty((count, FFT // 2 + 1))
    for index, (centre, pitch_hz) in enumerate(zip(centres, pitches, strict=True)):
        half = min(FFT // 2, round(1.5 * RATE_HZ / max(pitch_hz, _LOWEST_HZ)))
        window = np.hanning(2 * half + 1)
        frame = x[centre - half : centre + half + 1] * window / np.sqrt(np.sum(window**2))
        rows[index] = _smooth(frame, float(pitch_hz))
    return Envelopes(_continue_upwards(rows))
