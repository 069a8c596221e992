"""What was taken off the highest peaks, and for how long, read from the sound before and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.dsp.colour.oversampling import Oversampler

STEP_S = 0.001
PEAK_SPACING_S = 0.1
PEAKS_PER_S = 1.0
# Further from a peak than the filters of a move reach.
AROUND_STEPS = 8
OVERSAMPLING = 4
# A sample counts as shaved from here on; less is the filters' ringing.
SHAVED_DB = 0.1

Values = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Shaving:
    """Hold what became of a loop's peaks.

    Parameters
    ----------
    off_peaks_db : float
        How much lower the highest peaks are, dB: the mean over one to a second of sound, 100 ms apart or more.
    share_percent : float
        Share of all samples that are lower by more than 0.1 dB.
    longest_run, mean_run : float
        Length of the runs of such samples, in samples; 0 where there are none.
    curve : tuple of (float, float)
        Time, s, and how much lower the peak of that millisecond is, dB; 0 where it is far below the peaks.
    """

    off_peaks_db: float
    share_percent: float
    longest_run: float
    mean_run: float
    curve: tuple[tuple[float, float], ...]


class ShavingMeter:
    """Measure what was taken off the peaks of one loop, as often as wished.

    Parameters
    ----------
    before : Clip
        The loop without the move.
    """

    def __init__(self, before: Clip) -> None:
        self._samples = np.abs(before.samples.astype(np.float64))
        self._oversampler = Oversampler(OVERSAMPLING, before.rate_hz)
        self._step = max(1, round(STEP_S * before.rate_hz))
        self._step_s = self._step / before.rate_hz
        self._was = self._follow(before)
        self._places = self._choose_peaks(before.duration_s)

    @property
    def highest(self) -> float:
        """The highest peak between samples, an amplitude."""
        return float(self._was.max(initial=0.0))

    def cut_peaks(self, loop: Clip) -> Clip:
        """Cut the surroundings of the highest peaks out of a loop and join them, to try a move without memory."""
        offsets = np.arange(-AROUND_STEPS * self._step, (AROUND_STEPS + 1) * self._step)
        frames = np.concatenate([(place * self._step + offsets) % loop.frames for place in self._places])
        return loop.with_samples(loop.samples[frames])

    def measure_cut_db(self, cut: Clip) -> float:
        """Measure how much lower the highest peaks are, dB, from what became of `cut_peaks`."""
        became = self._follow(cut).reshape(len(self._places), 2 * AROUND_STEPS + 1)
        left = became[:, AROUND_STEPS - 1 : AROUND_STEPS + 2].max(axis=1)
        return float(np.mean(20 * np.log10(_ratio(self._was[self._places], left))))

    def measure(self, after: Clip, gain: float = 1.0) -> Shaving:
        """Measure peaks and runs; ``after`` was turned by a factor against ``before``."""
        became = self._follow(after) / gain
        near = self._was > 0.5 * became.max(initial=0.0)
        lower = np.where(near & (became > 0), 20 * np.log10(_ratio(self._was, became)), 0.0)
        runs = self._measure_runs(np.abs(after.samples.astype(np.float64)) / gain)
        times = (np.arange(lower.size) + 0.5) * self._step_s
        return Shaving(
            off_peaks_db=self._read_off_peaks(became),
            share_percent=100 * float(runs.sum()) / max(1, self._samples.size),
            longest_run=float(runs.max(initial=0)),
            mean_run=float(runs.mean()) if runs.size else 0.0,
            curve=tuple(zip(times.tolist(), lower.tolist(), strict=True)),
        )

    def _follow(self, loop: Clip) -> Values:
        """Highest magnitude between samples of each millisecond, of both channels."""
        steps = max(1, -(-loop.frames // self._step))
        peaks = np.zeros(steps * self._step)
        for channel in loop.samples.T:
            read = np.abs(self._oversampler.raise_rate(channel)).max(axis=0)
            np.maximum(peaks[: loop.frames], read, out=peaks[: loop.frames])
        return np.asarray(peaks.reshape(steps, self._step).max(axis=1))

    def _choose_peaks(self, duration_s: float) -> list[int]:
        """Choose the highest steps, one to a second, some distance apart."""
        spacing = max(1, round(PEAK_SPACING_S / self._step_s))
        left, places = self._was.copy(), []
        for _ in range(max(1, round(duration_s * PEAKS_PER_S))):
            place = int(left.argmax())
            if left[place] <= 0:
                break
            places.append(place)
            left[max(0, place - spacing) : place + spacing + 1] = 0.0
        return places

    def _read_off_peaks(self, became: Values) -> float:
        """Compare the chosen peaks with what is left of them within a millisecond on either side."""
        if not self._places:
            return 0.0
        left = np.array([became[max(0, place - 1) : place + 2].max() for place in self._places])
        return float(np.mean(20 * np.log10(_ratio(self._was[self._places], left))))

    def _measure_runs(self, left: Values) -> npt.NDArray[np.int_]:
        """Lengths of all runs of shaved samples, channel by channel."""
        shaved = (self._samples > left * 10 ** (SHAVED_DB / 20)) & (self._samples > 0.5 * left.max(initial=0.0))
        if not left.any():
            return np.zeros(0, dtype=int)
        framed = np.zeros((2, shaved.shape[0] + 2), dtype=np.int8)
        framed[:, 1:-1] = shaved.T
        edges = np.flatnonzero(np.diff(framed.reshape(-1)))
        return np.asarray(edges[1::2] - edges[::2])


def _ratio(was: Values, became: Values) -> Values:
    """How many times higher it was; no more than a million times, and 1 where nothing was."""
    return np.where(was > 0, was / np.maximum(became, np.maximum(was * 1e-6, 1e-300)), 1.0)
