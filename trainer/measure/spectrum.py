"""The long-term spectrum of a file: third octaves, how far up it reaches, how alike the sides are in the bass."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.standards import THIRD_OCTAVE_INDICES, third_octave_centre_hz, third_octave_edges_hz
from trainer.measure.steps import Wave

# Long enough that a sine at 20 Hz stays in its third octave: 1.37 s, Hann window, half overlapped.
FRAME_S = 65536 / 48000
BASS_HZ = 150.0
# Of each frame the lines below this are kept, for what is steady through a file, as hum is.
LOW_HZ = 420.0


@dataclass(frozen=True)
class LongTermSpectrum:
    """Hold power against frequency, averaged over a file.

    Parameters
    ----------
    width_hz : float
        Distance of the lines.
    power : ndarray of float64, shape (channels, lines)
        Mean square of each line, so that the lines add up to the mean square of the channel; full scale is 1.0.
    cross : ndarray of float64, shape (lines,)
        In-phase part of left times right; the power itself where there is one channel.
    low_frames : ndarray of float32, shape (frames, channels, low lines)
        Power of the lines below 420 Hz, frame by frame.
    """

    width_hz: float
    power: Wave
    cross: Wave
    low_frames: npt.NDArray[np.float32]

    @property
    def third_octaves(self) -> tuple[tuple[float, float | None], ...]:
        """Exact centre, Hz, and level, dB: mean square over channels against a full-scale square wave.

        Notes
        -----
        IEC 61260-1:2014, exact base-ten centres and edges. A full-scale sine reads −3.01 dB. None where nothing is.
        """
        bands = []
        for index in THIRD_OCTAVE_INDICES:
            low, high = third_octave_edges_hz(index)
            if high > self.width_hz * (self.power.shape[1] - 1):
                break
            power = self.sum_band(low, high)
            bands.append((third_octave_centre_hz(index), 10 * math.log10(power) if power > 1e-20 else None))
        return tuple(bands)

    @property
    def bass_correlation(self) -> float | None:
        """Correlation of the sides below 150 Hz, −1 to 1; None where a side has nothing there."""
        lines = slice(1, int(BASS_HZ / self.width_hz) + 1)
        product = float(self.power[0, lines].sum() * self.power[-1, lines].sum())
        return float(self.cross[lines].sum()) / math.sqrt(product) if product > 1e-24 else None

    def sum_band(self, low_hz: float, high_hz: float) -> float:
        """Mean square between two frequencies, averaged over channels; a line is shared out where an edge cuts it."""
        total = np.concatenate([[0.0], np.cumsum(self.power.mean(axis=0))])
        edges = (np.arange(total.size) - 0.5) * self.width_hz
        return float(np.diff(np.interp([low_hz, high_hz], edges, total))[0])


class SpectrumMeter:
    """Average the power spectrum block by block.

    Parameters
    ----------
    rate_hz, channels : int
        Of the file.
    highest_hz : float, optional
        Lines above it are left out, which saves time; 420 Hz or more; all are kept if not given.
    """

    def __init__(self, rate_hz: int, channels: int, highest_hz: float | None = None) -> None:
        self.rate_hz = rate_hz
        self._length = scipy.fft.next_fast_len(2 * round(FRAME_S * rate_hz / 2), real=True)
        self._window = np.hanning(self._length + 1)[:-1].astype(np.float32)
        self._rest = np.zeros((channels, 0), dtype=np.float32)
        self._low = int(LOW_HZ * self._length / rate_hz) + 1
        whole = self._length // 2 + 1
        lines = (
            whole if highest_hz is None else min(whole, max(self._low, int(highest_hz * self._length / rate_hz) + 1))
        )
        self._power: Wave = np.zeros((channels, lines))
        self._cross: Wave = np.zeros(lines)
        self._frames: list[npt.NDArray[np.float32]] = []

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames), of any length."""
        joined = np.concatenate([self._rest, block], axis=1)
        hop, first = self._length // 2, 0
        while first + self._length <= joined.shape[1]:
            self._take(joined[:, first : first + self._length])
            first += hop
        self._rest = joined[:, first:]

    def finish(self) -> LongTermSpectrum:
        """Give the average; a file shorter than a frame is read once, with silence behind it."""
        if not self._frames:
            self._take(np.pad(self._rest, ((0, 0), (0, self._length - self._rest.shape[1]))))
        count = len(self._frames)
        return LongTermSpectrum(
            self.rate_hz / self._length,
            self._power / count,
            self._cross / count,
            np.stack(self._frames),
        )

    def _take(self, frame: npt.NDArray[np.float32]) -> None:
        """Add one frame's spectrum."""
        lines = scipy.fft.rfft(frame * self._window, axis=1)[:, : self._cross.size]
        power = lines.real**2 + lines.imag**2
        cross = (lines[0] * lines[-1].conj()).real
        # One-sided lines of a Hann window, whose mean square is 3/8.
        scale = 2 / (0.375 * float(self._length) ** 2)
        self._power += scale * power
        self._cross += scale * cross
        self._frames.append((scale * power[:, : self._low]).astype(np.float32))
