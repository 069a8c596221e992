"""What a comparison of bounces needs of each file, in one pass over its blocks, and no more."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.audio.file_form import FileForm
from trainer.decisions.evidence import Evidence
from trainer.measure.dynamics import measure_dynamics
from trainer.measure.faults.scan import FaultScanner
from trainer.measure.loudness_trace import LoudnessMeter
from trainer.measure.peak_trace import PeakMeter
from trainer.measure.programme import Programme
from trainer.measure.spectrum import LOW_HZ, SpectrumMeter
from trainer.measure.stereo import Stereo


class BounceMeter:
    """Measure a file and look for faults, block by block, in less time than all figures take.

    Loudness, peaks and faults are those of a check. Left out are what no comparison asks for: the sides, the word
    length, the bandwidth, the spectrum above 420 Hz, and true peaks that are neither the highest nor over full scale.

    Parameters
    ----------
    form : FileForm
        The file's head.
    """

    def __init__(self, form: FileForm) -> None:
        self._form, self._frames = form, 0
        rate_hz, channels = form.sample_rate_hz, form.channels
        self._loudness = LoudnessMeter(rate_hz, channels)
        self._peaks = PeakMeter(rate_hz, channels, only_highest=True)
        self._spectrum = SpectrumMeter(rate_hz, channels, highest_hz=LOW_HZ)
        self._scanner = FaultScanner(rate_hz, channels, form.step)

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames), contiguous: whole 5 s, save the last."""
        self._frames += block.shape[1]
        for meter in (self._loudness, self._peaks, self._spectrum, self._scanner):
            meter.add(block)

    def finish(self) -> Evidence:
        """Give what was measured and found."""
        loudness, peaks = self._loudness.finish(), self._peaks.finish()
        programme = Programme(
            rate_hz=self._form.sample_rate_hz,
            channels=self._form.channels,
            frames=self._frames,
            loudness=loudness,
            peaks=peaks,
            stereo=Stereo(None, None, None, None),
            spectrum=self._spectrum.finish(),
            dynamics=measure_dynamics(loudness, peaks),
            bandwidth=None,
            true_bits=None,
        )
        return Evidence(self._form, programme, self._scanner.finish(programme))
