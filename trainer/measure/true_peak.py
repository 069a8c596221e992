"""True peak: the highest point of the wave between the samples, by two readings, of which the higher counts."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.loops import extend_loop
from trainer.measure.interpolation import (
    STRETCH,
    Filters,
    design_interpolator,
    design_short_interpolator,
    find_peaks_between,
    find_peaks_in_stretches,
)

LONG_TAPS, LONG_BETA = 128, 8.0
# First eight phases; then sixteen where eight, 0.17 dB too low at worst (20 log10 cos(pi / 16)), may miss the top.
COARSE_PHASES, FINE_PHASES, COARSE_DOUBT_DB = 8, 16, 0.17
# The short reading may be this far too low near Nyquist; only above it is the long one needed.
SHORT_DOUBT_DB = 3.0


@dataclass(frozen=True)
class TruePeak:
    """Hold two readings of one signal, dBTP.

    Parameters
    ----------
    long_dbtp : float
        16 times oversampled, 128 taps a phase.
    short_dbtp : float
        Four times (twice from 96 kHz on), 49 taps: what libebur128 shows.
    """

    long_dbtp: float
    short_dbtp: float

    @property
    def dbtp(self) -> float:
        """The higher of both."""
        return max(self.long_dbtp, self.short_dbtp)


def measure_true_peak(samples: npt.NDArray[np.floating], rate_hz: int) -> TruePeak:
    """Measure the true peak of a signal with silence around it.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The signal; one frame is enough.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    TruePeak
        Both readings; minus infinity for silence.

    Notes
    -----
    ITU-R BS.1770-5, Annex 2, asks for at least four times; longer filters read closer near Nyquist.
    """
    side = LONG_TAPS
    # A hard start or end swings before its first and behind its last frame: these frames are read as well.
    padded = np.pad(samples, ((2 * side, 2 * side), (0, 0)))
    return _read(padded, side, samples.shape[0] + 2 * side, rate_hz)


def measure_loop_true_peak(samples: npt.NDArray[np.floating], rate_hz: int) -> TruePeak:
    """Measure the true peak of a loop that is heard round and round; as `measure_true_peak`."""
    side = LONG_TAPS
    return _read(extend_loop(samples, side, side), side, samples.shape[0], rate_hz)


def follow_true_peak(
    samples: npt.NDArray[np.floating], rate_hz: int, floor: float, doubt_db: float = SHORT_DOUBT_DB
) -> npt.NDArray[np.float32]:
    """Follow the true peak frame by frame, by the short reading, and by the long one where it may pass a floor.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The signal, with silence around it.
    rate_hz : int
        Sampling rate.
    floor : float
        Magnitude from which on the reading has to be exact; full scale is 1.0.
    doubt_db : float
        How far the short reading may be too low, dB; 1.6 is enough for sound without anything above 21 kHz.

    Returns
    -------
    ndarray of float32, shape (frames,)
        The highest magnitude at the frame or before the next one, over channels and readings.
    """
    side, frames = LONG_TAPS, samples.shape[0]
    padded = np.pad(samples, ((side, side), (0, 0)))
    highest = np.zeros(frames, dtype=np.float32)
    for c in range(padded.shape[1]):
        short = _follow(padded[:, c], side, frames, choose_short_interpolator(rate_hz))
        stretches, long = _read_long_above(padded[:, c], short, side, floor * 10 ** (-doubt_db / 20), floor)
        places = (stretches[:, None] * STRETCH + np.arange(STRETCH)).reshape(-1)
        inside = places < frames
        short[places[inside]] = np.maximum(short[places[inside]], long.reshape(-1)[inside])
        np.maximum(highest, short, out=highest)
    return highest


def choose_short_interpolator(rate_hz: int) -> Filters:
    """Choose the short reading's filter: four times below 96 kHz, twice up to 192 kHz, none above that."""
    return design_short_interpolator(4 if rate_hz < 96000 else 2 if rate_hz < 192000 else 1)


def _read(padded: npt.NDArray[np.floating], side: int, frames: int, rate_hz: int) -> TruePeak:
    """Read every channel short, and long where a peak may be."""
    short = [_follow(padded[:, c], side, frames, choose_short_interpolator(rate_hz)) for c in range(padded.shape[1])]
    highest = max(float(peaks.max()) for peaks in short)
    sample_peak = float(np.abs(padded).max())
    if highest <= 0 and sample_peak <= 0:
        return TruePeak(-math.inf, -math.inf)
    floor = max(highest, sample_peak) * 10 ** (-SHORT_DOUBT_DB / 20)
    long = sample_peak
    for c in range(padded.shape[1]):
        _, peaks = _read_long_above(padded[:, c], short[c], side, floor, None)
        long = max(long, float(peaks.max(initial=0.0)))
    return TruePeak(20 * math.log10(long), 20 * math.log10(max(highest, sample_peak)))


def _follow(channel: npt.NDArray[np.floating], side: int, frames: int, filters: Filters) -> npt.NDArray[np.float32]:
    """Peaks between the samples over the signal and a few frames around it."""
    before = filters.shape[1] // 2 - 1
    after = filters.shape[1] - 1 - before
    return find_peaks_between(channel[side - before : side + frames + after], filters)


def _read_long_above(
    channel: npt.NDArray[np.floating], short: npt.NDArray[np.float32], side: int, near: float, floor: float | None
) -> tuple[npt.NDArray[np.int_], npt.NDArray[np.float32]]:
    """Read the long filter where the short reading comes near a peak: the numbers of the stretches, and their peaks.

    With a floor, peaks above it are read exactly; without one, the highest peak of all is.
    """
    tall = np.maximum.reduceat(short, np.arange(0, short.size, STRETCH)) >= near
    beside = tall.copy()
    beside[1:] |= tall[:-1]
    beside[:-1] |= tall[1:]
    stretches = np.flatnonzero(beside)
    before = LONG_TAPS // 2 - 1
    # Up to the last stretch's end and its context: cut off earlier, the wave would swing at the cut.
    whole = -(-short.size // STRETCH) * STRETCH
    signal = channel[side - before : side - before + whole + LONG_TAPS - 1]
    peaks = find_peaks_in_stretches(signal, design_interpolator(COARSE_PHASES, LONG_TAPS, LONG_BETA), stretches)
    doubtful = (float(peaks.max(initial=0.0)) if floor is None else floor) * 10 ** (-COARSE_DOUBT_DB / 20)
    again = np.flatnonzero(peaks.max(axis=1, initial=0.0) >= doubtful)
    fine = design_interpolator(FINE_PHASES, LONG_TAPS, LONG_BETA)
    peaks[again] = find_peaks_in_stretches(signal, fine, stretches[again])
    return stretches, peaks
