"""The two sides of a file against each other."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.measure.loudness_trace import LoudnessTrace

SILENT = 1e-14


@dataclass(frozen=True)
class Stereo:
    """Compare left and right over a whole file.

    Parameters
    ----------
    correlation : float or None
        −1 to 1; None where a side is silent or there is one channel.
    balance_db : float or None
        Level of left over right, dB: below 0 where right is louder.
    mono_change_lu : float or None
        What folding to mono, (left + right) / 2 on both sides, does to the integrated loudness, LU.
    bass_correlation : float or None
        Correlation below 150 Hz.
    silent_side : str
        ``left``, ``right`` or empty.
    """

    correlation: float | None
    balance_db: float | None
    mono_change_lu: float | None
    bass_correlation: float | None
    silent_side: str = ""


class SideMeter:
    """Sum up powers and the product of the sides, block by block."""

    def __init__(self) -> None:
        self._sums = np.zeros(3)

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames)."""
        left, right = block[0].astype(np.float64), block[-1].astype(np.float64)
        self._sums += [left @ left, right @ right, left @ right]

    def finish(self, stereo: LoudnessTrace, mono: LoudnessTrace, bass_correlation: float | None) -> Stereo:
        """Compare the sides, with the loudness of both and of their mono sum."""
        left, right, product = self._sums.tolist()
        if min(left, right) <= SILENT:
            silent = "" if max(left, right) <= SILENT else "left" if left < right else "right"
            return Stereo(None, None, _differ(stereo, mono), None, silent)
        return Stereo(
            product / math.sqrt(left * right),
            10 * math.log10(left / right),
            _differ(stereo, mono),
            bass_correlation,
        )


def _differ(stereo: LoudnessTrace, mono: LoudnessTrace) -> float | None:
    """Loudness of mono over stereo, LU; None where one of them has none."""
    change = mono.integrated_lufs - stereo.integrated_lufs
    return change if math.isfinite(change) else None
