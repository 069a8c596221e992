"""Roughness that a fast gain puts on held bass: what its ripple adds, against the note."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.hits import FRAME_S, average_steps
from trainer.measure.reduction import Reduction

# Modulation between these is heard as roughness, slower as movement.
ROUGH_BAND_HZ = (20.0, 300.0)
BASS_BAND_HZ = (35.0, 150.0)
# Bass is held where its level stays within this over this long, and is not far below its loudest or the song.
HELD_WITHIN_DB = 6.0
HELD_S = 0.2
BELOW_LOUDEST_DB = 20.0
BELOW_SONG_DB = 20.0
LEAST_HELD_S = 0.2
FLOOR_DB = -140.0


def find_held_bass(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.bool_]:
    """Find where bass is held: 35 to 150 Hz within 6 dB over 200 ms, at most 20 dB below its loudest and the song.

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
    sections = scipy.signal.butter(2, BASS_BAND_HZ, "bandpass", fs=rate_hz, output="sos")
    low = np.asarray(scipy.signal.sosfilt(sections, samples.astype(np.float64), axis=0))
    smooth = scipy.ndimage.uniform_filter1d(average_steps(low, rate_hz), 5, mode="wrap")
    size = int(HELD_S / FRAME_S)
    highest = scipy.ndimage.maximum_filter1d(smooth, size, mode="wrap")
    lowest = scipy.ndimage.minimum_filter1d(smooth, size, mode="wrap")
    loud = smooth > max(1e-9, float(smooth.max(initial=0.0)) * 10 ** (-BELOW_LOUDEST_DB / 10))
    loud &= smooth > average_steps(samples.astype(np.float64), rate_hz) * 10 ** (-BELOW_SONG_DB / 10)
    return np.asarray(loud & (highest < lowest * 10 ** (HELD_WITHIN_DB / 10)))


def measure_roughness_db(reduction: Reduction, held: npt.NDArray[np.bool_]) -> float | None:
    """Measure what a gain's ripple between 20 and 300 Hz adds while bass is held.

    A gain ``g (1 + m(t))`` adds to a note the note times m: its level against the note is the effective value of m.
    A compressor without smoothing enough follows the wave itself and ripples at twice the note's frequency, which
    puts a line 3 dB below this figure at three times the note.

    Parameters
    ----------
    reduction : Reduction
        Of a round of a loop, in steps of 1 ms.
    held : ndarray of bool, shape (steps of 10 ms,)
        Where bass is held.

    Returns
    -------
    float or None
        Level of what is added against the note, dB, −140 or more; None if bass is held for less than 200 ms.

    Notes
    -----
    Modulation from 15 to 300 Hz is heard as roughness: H. Fastl, E. Zwicker, "Psychoacoustics", chapter on roughness
    (from memory). To read it from the gain, in dB against the note, is our own definition; no source.
    """
    count = reduction.reduction_db.size
    places = np.minimum((np.arange(count) * reduction.step_s / FRAME_S).astype(int), max(held.size - 1, 0))
    chosen = held[places] if held.size else np.zeros(count, dtype=bool)
    if chosen.sum() * reduction.step_s < LEAST_HELD_S:
        return None
    gain = 10 ** (-reduction.reduction_db / 20)
    spectrum = np.fft.rfft(gain / gain[chosen].mean())
    frequencies = np.fft.rfftfreq(count, reduction.step_s)
    spectrum[(frequencies < ROUGH_BAND_HZ[0]) | (frequencies > ROUGH_BAND_HZ[1])] = 0
    ripple = np.fft.irfft(spectrum, n=count)[chosen]
    return max(FLOOR_DB, 10 * float(np.log10(np.mean(ripple**2) + 1e-30)))
