"""What covers a fault: the level of a band around a place."""

from __future__ import annotations

import math

import numpy as np
import scipy

from trainer.audio.clip import Clip
from trainer.dsp.faults.planted import Wave

# Clicks are judged above this: music holds least up there, and a click holds most.
HIGH_PASS_HZ = 4000.0
LOW_PASS_HZ = 100.0
# In a gap a fault is compared with no less than this under the song: softer ones cannot be heard at a safe level.
LEAST_UNDER_SONG_DB = -60.0
LEAST_DBFS = -96.0
SETTLE_S = 0.1
LOWEST_DB = -120.0


def pass_high(wave: Wave, rate_hz: int) -> Wave:
    """Keep what lies above 4 kHz, 24 dB an octave, shape (frames, ...); begins as if the first value had stood."""
    return _filter(wave, scipy.signal.butter(4, min(HIGH_PASS_HZ, 0.4 * rate_hz), "highpass", fs=rate_hz, output="sos"))


def pass_low(wave: Wave, rate_hz: int) -> Wave:
    """Keep what lies below 100 Hz, 24 dB an octave, shape (frames, ...); begins as if the first value had stood."""
    return _filter(wave, scipy.signal.butter(4, LOW_PASS_HZ, "lowpass", fs=rate_hz, output="sos"))


def measure_song_rms(clip: Clip) -> float:
    """Measure the RMS value of a whole clip over both channels."""
    return float(np.sqrt(np.mean(np.square(clip.samples, dtype=np.float64)))) if clip.frames else 0.0


def find_floor(song_rms: float) -> float:
    """Give the least RMS value that a fault is compared with."""
    return max(song_rms * 10 ** (LEAST_UNDER_SONG_DB / 20), 10 ** (LEAST_DBFS / 20))


def measure_local_rms(filtered: Wave, first: int, last: int, floor: float) -> float:
    """Measure the RMS value of filtered sound between two frames, no less than a floor."""
    part = filtered[max(0, first) : max(0, last)]
    return max(float(np.sqrt(np.mean(part**2))) if part.size else 0.0, floor)


def cut_around(clip: Clip, first: int, last: int) -> tuple[Wave, int]:
    """Cut the sound between two frames with enough before it for a filter to settle: it, and its first frame."""
    start = max(0, first - int(SETTLE_S * clip.rate_hz))
    return clip.samples[start : max(0, last)].astype(np.float64), start


def to_db(ratio: float) -> float:
    """Convert an amplitude ratio to dB, −120 at least."""
    return max(20 * math.log10(ratio), LOWEST_DB) if ratio > 0 else LOWEST_DB


def _filter(wave: Wave, sections: Wave) -> Wave:
    if not wave.shape[0]:
        return wave
    state = scipy.signal.sosfilt_zi(sections)
    first = np.asarray(wave[0])
    start = state.reshape(*state.shape, *([1] * first.ndim)) * first
    return np.asarray(scipy.signal.sosfilt(sections, wave, axis=0, zi=start)[0])
