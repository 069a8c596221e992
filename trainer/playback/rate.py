"""Bring a loop to the rate of an output, before it is played."""

from __future__ import annotations

import numpy as np

from trainer.playback.glide import Samples
from trainer.playback.reel import Reel, make_reel


def convert_reel(reel: Reel, rate_hz: int) -> Reel:
    """Convert every version of a loop to another rate, all to one length.

    Parameters
    ----------
    reel : Reel
        The loop.
    rate_hz : int > 0
        The rate of the output.

    Returns
    -------
    Reel
        The same loop with the nearest whole number of frames, at least 1. Its length in seconds
        changes by half a frame at most; the seam stays as it was.
    """
    frames = max(1, round(reel.frames * rate_hz / reel.rate_hz))
    versions = np.empty((reel.count, frames, 2), dtype=np.float32)
    for index, version in enumerate(reel.versions):
        versions[index] = convert_loop(version, frames)
    return make_reel(versions, rate_hz)


def convert_loop(loop: Samples, frames: int) -> Samples:
    """Give one loop another number of frames by way of its Fourier series.

    A loop is periodic, so its series is finite and the conversion exact up to the lower of the two
    half rates; a filter of finite length would have to treat the seam as an edge.

    Parameters
    ----------
    loop : ndarray of float32, shape (n, 2)
        One turn of the loop.
    frames : int > 0
        Frames wanted for one turn.

    Returns
    -------
    ndarray of float32, shape (frames, 2)
        The loop with its new number of frames.
    """
    spectrum = np.fft.rfft(loop.astype(np.float64), axis=0)
    # The bin at half the lower rate has no phase of its own, so it is left out.
    shared = spectrum[: (min(len(loop), frames) + 1) // 2]
    converted = np.fft.irfft(shared, frames, axis=0) * (frames / len(loop))
    return converted.astype(np.float32)
