"""Everything that is measured of a file, in one pass over its blocks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.measure.bandwidth import Bandwidth, find_bandwidth
from trainer.measure.dynamics import Dynamics, measure_dynamics
from trainer.measure.loudness_trace import LoudnessMeter, LoudnessTrace
from trainer.measure.peak_trace import PeakMeter, PeakTrace
from trainer.measure.spectrum import LongTermSpectrum, SpectrumMeter
from trainer.measure.steps import block_frames
from trainer.measure.stereo import SideMeter, Stereo
from trainer.measure.word_length import WordLengthMeter

Block = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Programme:
    """Hold what was measured of one file.

    Parameters
    ----------
    rate_hz, channels, frames : int
        Its form.
    loudness : LoudnessTrace
        Loudness in its course.
    peaks : PeakTrace
        Peaks in their course, and the offset from zero.
    stereo : Stereo
        The sides; every figure None where there is one channel.
    spectrum : LongTermSpectrum
        Power against frequency.
    dynamics : Dynamics
        Peaks over loudness.
    bandwidth : Bandwidth or None
        How far up it reaches; None for silence.
    true_bits : int or None
        Word length in use; None for silence and for values between all steps.
    """

    rate_hz: int
    channels: int
    frames: int
    loudness: LoudnessTrace
    peaks: PeakTrace
    stereo: Stereo
    spectrum: LongTermSpectrum
    dynamics: Dynamics
    bandwidth: Bandwidth | None
    true_bits: int | None

    @property
    def duration_s(self) -> float:
        """Length, s."""
        return self.frames / self.rate_hz


class ProgrammeMeter:
    """Measure a file block by block.

    Parameters
    ----------
    rate_hz : int
        Sampling rate.
    channels : int
        1 or 2.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        self.rate_hz, self.channels, self._frames = rate_hz, channels, 0
        self._loudness = LoudnessMeter(rate_hz, channels)
        self._peaks = PeakMeter(rate_hz, channels)
        self._spectrum = SpectrumMeter(rate_hz, channels)
        self._sides = SideMeter()
        self._words = WordLengthMeter()

    def add(self, block: Block) -> None:
        """Take the next block, shape (channels, frames), contiguous: whole 5 s, save the last."""
        self._frames += block.shape[1]
        for meter in (self._loudness, self._peaks, self._spectrum, self._sides, self._words):
            meter.add(block)

    def finish(self) -> Programme:
        """Give what was measured."""
        loudness, peaks, spectrum = self._loudness.finish(), self._peaks.finish(), self._spectrum.finish()
        stereo = Stereo(None, None, None, None)
        if self.channels == 2:
            stereo = self._sides.finish(loudness, self._loudness.finish_mono(), spectrum.bass_correlation)
        return Programme(
            self.rate_hz,
            self.channels,
            self._frames,
            loudness,
            peaks,
            stereo,
            spectrum,
            measure_dynamics(loudness, peaks),
            find_bandwidth(spectrum),
            self._words.finish(),
        )


def measure_programme(samples: npt.NDArray[np.floating], rate_hz: int) -> Programme:
    """Measure a whole sound.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        One or two channels; full scale is 1.0.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    Programme
    """
    meter = ProgrammeMeter(rate_hz, samples.shape[1])
    length = block_frames(rate_hz)
    for first in range(0, max(samples.shape[0], 1), length):
        meter.add(np.ascontiguousarray(samples[first : first + length].T, dtype=np.float32))
    return meter.finish()
