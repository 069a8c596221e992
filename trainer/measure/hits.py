"""Drum hits: where they are, and how far they stand out of the song."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.weighting import weight_k

FRAME_S = 0.01
HIT_BAND_HZ = (1500.0, 5000.0)
KICK_BAND_HZ = (35.0, 110.0)
KICK_STEPS = 5
KICK_BELOW_TALLEST_DB = 20.0
SIBILANT_BAND_HZ = (5000.0, 9000.0)
# An s is no hit: below it, where a snare or a cymbal's stick sounds too, much less goes on.
SIBILANT_OVER_HIT_BAND_DB = 3.0
HIT_OVER_BED_DB = 4.0
HIT_SPACING_S = 0.15
BED_S = 0.4
LOUDEST_SPACING_S = 0.1


def cut_steps(values: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.floating]:
    """Cut a series into steps of 10 ms, shape (steps, frames a step); the last is padded with zeros."""
    length = int(round(FRAME_S * rate_hz))
    count = -(-values.shape[0] // length)
    return np.pad(values, (0, count * length - values.shape[0])).reshape(count, length)


def average_steps(sides: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.float64]:
    """Give the mean power of each step of 10 ms, channels summed."""
    power = np.einsum("ij,ij->i", sides, sides)
    return np.asarray(cut_steps(power, rate_hz).mean(axis=1), dtype=np.float64)


def follow_peaks(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.float64]:
    """Give the highest sample magnitude of each step of 10 ms, over channels."""
    # Side by side: numpy is ten times slower where it has to look for the highest of two values at a time.
    highest = np.maximum.reduce([np.abs(channel) for channel in samples.T])
    return np.asarray(cut_steps(highest, rate_hz).max(axis=1), dtype=np.float64)


def find_hits(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.bool_]:
    """Find hits: where the power between 1.5 and 5 kHz peaks 4 dB over the median of the 400 ms around it.

    Two hits are at least 150 ms apart.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The sound.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of bool, shape (steps,)
        One value to a step of 10 ms.
    """
    return find_bursts(average_steps(pass_hit_band(samples, rate_hz), rate_hz))


def find_kicks(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.bool_]:
    """Find low hits, by the power between 35 and 110 Hz over 50 ms; else as `find_hits`.

    In so narrow a band a soft bed swings by itself: bursts 20 dB below the tallest do not count.
    """
    power = scipy.ndimage.uniform_filter1d(average_steps(_pass(samples, KICK_BAND_HZ, rate_hz), rate_hz), KICK_STEPS)
    return np.asarray(find_bursts(power) & (power > power.max(initial=0.0) * 10 ** (-KICK_BELOW_TALLEST_DB / 10)))


def find_sibilants(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.bool_]:
    """Find s sounds: bursts between 5 and 9 kHz during which 1.5 to 5 kHz stays 3 dB lower; else as `find_hits`."""
    power = average_steps(_pass(samples, SIBILANT_BAND_HZ, rate_hz), rate_hz)
    below = average_steps(pass_hit_band(samples, rate_hz), rate_hz)
    return find_bursts(power) & (power > below * 10 ** (SIBILANT_OVER_HIT_BAND_DB / 10))


def find_bursts(power: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Find where a power, a value to each 10 ms, peaks 4 dB over the median around it, at least 150 ms apart."""
    bed = scipy.ndimage.median_filter(power, int(BED_S / FRAME_S), mode="reflect")
    tall = np.flatnonzero(power > bed * 10 ** (HIT_OVER_BED_DB / 10))
    bursts = np.zeros(power.size, dtype=bool)
    spacing, last = int(HIT_SPACING_S / FRAME_S), -(10**9)
    for place in tall.tolist():
        if power[place] >= power[max(0, place - 3) : place + 4].max() and place - last >= spacing:
            bursts[place], last = True, place
    return bursts


def pass_hit_band(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.float64]:
    """Keep 1.5 to 5 kHz, where a snare's crack is."""
    return _pass(samples, HIT_BAND_HZ, rate_hz)


def _pass(samples: npt.NDArray[np.floating], band_hz: tuple[float, float], rate_hz: int) -> npt.NDArray[np.float64]:
    """Keep a band, 12 dB an octave on either side."""
    band = (min(band_hz[0], 0.2 * rate_hz), min(band_hz[1], 0.45 * rate_hz))
    sections = scipy.signal.butter(2, band, "bandpass", fs=rate_hz, output="sos")
    return np.asarray(scipy.signal.sosfilt(sections, samples.astype(np.float64), axis=0), dtype=np.float64)


def find_loudest_hits(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.bool_]:
    """Find the highest peaks: one to a second of sound, at least 100 ms apart.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The sound.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of bool, shape (steps,)
        One value to a step of 10 ms; none is set in silence.
    """
    left = follow_peaks(samples, rate_hz)
    hits = np.zeros(left.size, dtype=bool)
    spacing = int(LOUDEST_SPACING_S / FRAME_S)
    for _ in range(max(1, round(samples.shape[0] / rate_hz))):
        place = int(left.argmax())
        if left[place] <= 0:
            break
        hits[place] = True
        left[max(0, place - spacing) : place + spacing + 1] = 0
    return hits


def measure_hits_over_song(
    samples: npt.NDArray[np.floating], rate_hz: int, hits: npt.NDArray[np.bool_]
) -> float | None:
    """Measure how far hits stand over the song.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The sound.
    rate_hz : int
        Sampling rate.
    hits : ndarray of bool, shape (steps,)
        Where to look, as found in the unprocessed version, so that versions are compared at the same places.

    Returns
    -------
    float or None
        Mean sample peak at the hits over the K-weighted level of the whole, dB; None without hits.
    """
    places = np.flatnonzero(hits)
    if places.size == 0:
        return None
    peaks = follow_peaks(samples, rate_hz)
    highest = np.array([peaks[max(0, p - 1) : p + 2].max() for p in places])
    level = float((weight_k(samples, rate_hz) ** 2).sum(axis=1).mean())
    return float(20 * np.log10(highest.mean() + 1e-12) - 10 * np.log10(level + 1e-20))
