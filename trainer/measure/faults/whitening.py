"""A sound whose spectrum is made even, in which a click stands out many times more than in the sound itself."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

FRAME_S = 8192 / 48000
MARGIN_S = 0.0107
SMOOTH_HZ = 300.0
LOWEST_HZ = 1500.0
# What lies this far below the strongest line is taken to be empty: there is nothing to be raised.
EMPTY = 1e-5

Wave = npt.NDArray[np.float32]


def whiten(wave: Wave, rate_hz: int) -> Wave:
    """Divide by the smoothed spectrum of each sixth of a second, without delay, above 1.5 kHz.

    A click is short and holds all frequencies alike; music holds less the higher one looks. Evened out, a click that
    is hidden among cymbals stands alone. The spectrum is smoothed over 600 Hz, so that the filter is short.

    Parameters
    ----------
    wave : ndarray of float32, shape (channels, frames)
        The sound.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of float32, shape (channels, frames)
        About as strong everywhere.

    Notes
    -----
    S. Godsill and P. Rayner, "Digital Audio Restoration", 1998 (from memory), whiten by linear prediction to the same
    end.
    """
    length, margin = _size_frames(rate_hz)
    hop, frames = length - 2 * margin, wave.shape[1]
    count = -(-frames // hop)
    padded = np.zeros((wave.shape[0], count * hop + 2 * margin), dtype=np.float32)
    padded[:, margin : margin + frames] = wave
    parts = np.lib.stride_tricks.sliding_window_view(padded, length, axis=1)[:, ::hop]
    even = np.empty((wave.shape[0], count, hop), dtype=np.float32)
    for channel, rows in enumerate(parts):
        even[channel] = _whiten_frames(rows, rate_hz)[:, margin : margin + hop]
    return even.reshape(wave.shape[0], count * hop)[:, :frames]


def find_responses(wave: Wave, rate_hz: int, place: int) -> Wave:
    """Find what `whiten` makes of a click of one sample and height 1 at a place of a wave.

    Parameters
    ----------
    wave : ndarray of float32, shape (channels, frames)
        The sound that was whitened.
    rate_hz : int
        Its sampling rate.
    place : int
        A frame of it.

    Returns
    -------
    ndarray of float32, shape (channels, an even length)
        Column k holds the response k samples after the click; column −k, counted from the end, k samples before it.
    """
    length, margin = _size_frames(rate_hz)
    hop = length - 2 * margin
    first = place // hop * hop - margin
    rows = np.zeros((wave.shape[0], length), dtype=np.float32)
    part = wave[:, max(0, first) : first + length]
    rows[:, max(0, -first) : max(0, -first) + part.shape[1]] = part
    gains = _measure_gains(scipy.fft.rfft(rows, axis=1), rate_hz, length)
    return np.asarray(scipy.fft.irfft(gains, n=length, axis=1), dtype=np.float32)


def _size_frames(rate_hz: int) -> tuple[int, int]:
    """Give the length of a frame, and how much of it is not to be used at either end."""
    return scipy.fft.next_fast_len(int(FRAME_S * rate_hz), real=True), int(MARGIN_S * rate_hz)


def _whiten_frames(rows: Wave, rate_hz: int) -> Wave:
    """Whiten frames, shape (frames, length); near their ends the result is not to be used."""
    length = rows.shape[1]
    lines = scipy.fft.rfft(rows, axis=1)
    lines *= _measure_gains(lines, rate_hz, length)
    return np.asarray(scipy.fft.irfft(lines, n=length, axis=1), dtype=np.float32)


def _measure_gains(lines: npt.NDArray[np.complexfloating], rate_hz: int, length: int) -> Wave:
    """Measure by how much each line of each frame is raised."""
    # A Hann window, laid on in the spectrum: each line less half of the mean of its neighbours.
    windowed = lines.copy()
    windowed[:, 1:-1] -= 0.5 * (lines[:, :-2] + lines[:, 2:])
    power = windowed.real**2 + windowed.imag**2
    power = scipy.ndimage.uniform_filter1d(power, 2 * round(SMOOTH_HZ * length / rate_hz) + 1, axis=1, mode="nearest")
    rise = np.arange(length // 2 + 1) * (rate_hz / length / LOWEST_HZ) - 1
    strongest = power[:, rise > 1].max(axis=1, keepdims=True)
    gains = np.clip(rise, 0, 1).astype(np.float32) / np.sqrt(power + EMPTY * strongest + 1e-12 * length)
    return np.asarray(gains, dtype=np.float32)
