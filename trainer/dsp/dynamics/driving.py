"""Drive sound into its ceiling until it is as loud as asked: sketched cheaply, then corrected on the sound."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.limiting import STEP_FRAMES, Timing, follow_envelope_db, shape_reduction
from trainer.measure import standards
from trainer.measure.loudness import gate_blocks
from trainer.measure.weighting import weight_k

Trace = npt.NDArray[np.float64]
CLOSE_LU = 0.005
MOST_RENDERS = 5
# Beyond the knee loudness hardly follows the drive; steps are kept within reason.
LEAST_SLOPE, MOST_SLOPE = 0.12, 1.0
HALVINGS = 40
# So far from what is asked, with so little louder for each dB of drive, no drive that is left will do.
HOPELESS_LU, LEAST_YIELD = 1.0, 0.15


@dataclass(frozen=True)
class Driven:
    """Say how far sound was driven and what came of it.

    Parameters
    ----------
    drive_db : float
        Gain ahead of the ceiling, dB.
    loudness_lufs : float
        Measured on what was rendered.
    reached : bool
        Whether that is what was asked; else it is the most that can be had.
    clip : Clip
        What was rendered.
    renders : int
        How many times.
    """

    drive_db: float
    loudness_lufs: float
    reached: bool
    clip: Clip
    renders: int


class Sketch:
    """Foretell the loudness of driven and limited sound from its envelope and its weighted power.

    Parameters
    ----------
    clip : Clip
        The sound before the drive.
    ceiling_dbtp : float
        The limiter's ceiling, dBTP.
    timing : Timing
        Its releases.
    clip_peaks_db : callable
        What a clipper ahead of the limiter makes of peaks, dB to dB.
    """

    def __init__(
        self, clip: Clip, ceiling_dbtp: float, timing: Timing, clip_peaks_db: Callable[[Trace], Trace]
    ) -> None:
        self._rate_hz, self._ceiling_dbtp, self._timing = clip.rate_hz, ceiling_dbtp, timing
        self._clip_peaks_db = clip_peaks_db
        self._envelope_db = follow_envelope_db(clip.samples, clip.rate_hz)
        power = (weight_k(clip.samples, clip.rate_hz) ** 2).sum(axis=1)
        padded = np.pad(power, (0, self._envelope_db.size * STEP_FRAMES - power.size))
        self._power = padded.reshape(-1, STEP_FRAMES).sum(axis=1)

    @property
    def highest_peak_dbtp(self) -> float:
        """Highest peak before the drive."""
        return float(self._envelope_db.max())

    def foretell(self, drive_db: float) -> float:
        """Give the loudness after a drive, about, LUFS."""
        peaks = self._clip_peaks_db(self._envelope_db + drive_db)
        reduction = shape_reduction(peaks, self._ceiling_dbtp, self._timing, self._rate_hz)
        power = self._power * 10 ** ((drive_db - reduction) / 10)
        total = np.concatenate([[0.0], np.cumsum(power)])
        length = standards.BLOCK_S * self._rate_hz / STEP_FRAMES
        starts = np.arange(0.0, max(1.0, total.size - 1 - length), standards.BLOCK_STEP_S * self._rate_hz / STEP_FRAMES)
        edges = np.arange(total.size)
        blocks = np.interp(starts + length, edges, total) - np.interp(starts, edges, total)
        return gate_blocks(blocks / (length * STEP_FRAMES))

    def find_drive(self, loudness_lufs: float, most_db: float) -> float:
        """Find the drive that is foretold to give a loudness; the most where none does."""
        high = most_db
        if self.foretell(high) <= loudness_lufs:
            return high
        low = min(high, loudness_lufs - self.foretell(0.0)) - 1.0
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.foretell(middle) < loudness_lufs else (low, middle)
            if high - low < 1e-3:
                break
        return 0.5 * (low + high)


def drive_to_loudness(
    sketch: Sketch,
    render: Callable[[float], Clip],
    measure: Callable[[Clip], float],
    loudness_lufs: float,
    most_db: float,
    close_lu: float = CLOSE_LU,
) -> Driven:
    """Find the drive at which rendered sound has a loudness.

    Parameters
    ----------
    sketch : Sketch
        Of the sound before the drive.
    render : callable
        Makes the sound for a drive, dB.
    measure : callable
        Reads its loudness, LUFS.
    loudness_lufs : float
        What is asked.
    most_db : float
        The furthest drive, dB.
    close_lu : float
        What is near enough, LU.

    Returns
    -------
    Driven
        That near to what is asked, or what the furthest drive gives, with ``reached`` false.
    """
    drive_db = sketch.find_drive(loudness_lufs, most_db)
    before: tuple[float, float] | None = None
    for renders in range(1, MOST_RENDERS + 1):
        made = render(drive_db)
        became = measure(made)
        miss = loudness_lufs - became
        done = not math.isfinite(miss) or abs(miss) <= close_lu or (miss > 0 and drive_db >= most_db)
        spent = miss > HOPELESS_LU and before is not None and became - before[1] < LEAST_YIELD * (drive_db - before[0])
        if done or spent or renders == MOST_RENDERS:
            break
        slope = _find_slope(sketch, drive_db, became, before)
        before = (drive_db, became)
        drive_db = min(most_db, drive_db + miss / min(max(slope, LEAST_SLOPE), MOST_SLOPE))
    return Driven(drive_db, became, abs(miss) <= max(close_lu, 4 * CLOSE_LU), made, renders)


def _find_slope(sketch: Sketch, drive_db: float, became: float, before: tuple[float, float] | None) -> float:
    """Find by how much a dB of drive makes it louder: between two renderings, or foretold where there is only one."""
    if before is not None and abs(drive_db - before[0]) > 0.02:
        return (became - before[1]) / (drive_db - before[0])
    return (sketch.foretell(drive_db + 0.2) - sketch.foretell(drive_db - 0.2)) / 0.4
