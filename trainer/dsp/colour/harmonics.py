"""Harmonics of a sine, read from the sound."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.dsp.colour.bend import Overtones, sum_overtones
from trainer.units import db_to_gain

HIGHEST_HZ = 20000.0


def render_sine_overtones(
    render: Callable[[Clip], Clip], frequency_hz: float, peak_dbfs: float, rate_hz: int
) -> Overtones:
    """Send a sine through a move and read its harmonics up to 20 kHz.

    Parameters
    ----------
    render : callable
        The move on a loop.
    frequency_hz : float
        The sine, a whole number of Hz; one second of it is a loop without a seam.
    peak_dbfs : float
        Its peak, dBFS.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    Overtones
    """
    phase = 2 * np.pi * round(frequency_hz) * np.arange(rate_hz) / rate_hz
    wave = db_to_gain(peak_dbfs) * np.sin(phase)
    sine = Clip(np.repeat(wave[:, None], 2, axis=1).astype(np.float32), rate_hz)
    return sum_overtones(read_harmonics(render(sine), round(frequency_hz)))


def read_harmonics(second: Clip, frequency_hz: int) -> npt.NDArray[np.float64]:
    """Read the amplitudes of a sine's harmonics, the fundamental first, from one second of its left channel."""
    spectrum = np.abs(np.fft.rfft(second.samples[:, 0].astype(np.float64))) * 2 / second.frames
    highest = min(HIGHEST_HZ, 0.499 * second.rate_hz)
    return np.asarray(spectrum[frequency_hz : int(highest) + 1 : frequency_hz])
