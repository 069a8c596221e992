"""Middle and side of two channels, and what is read of them from the sound."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.loops import extend_loop
from trainer.measure.loudness import RUN_UP_S
from trainer.measure.weighting import weight_k
from trainer.units import begin_large, write_number

Values = npt.NDArray[np.float64]
SILENT = 1e-20
# A side further below the middle than this counts as none.
NO_SIDE_DB = -90.0


@dataclass(frozen=True)
class Sides:
    """Hold what two channels have in common and what they have not.

    Parameters
    ----------
    middle_db, side_db : float
        Mean power of (left + right) / 2 and of (left − right) / 2, dB; minus infinity where there is none.
    correlation : float
        Of left and right, −1 to 1; not a number where one is silent.
    balance_db : float
        Left over right, dB; not a number where one is silent.
    mono_loss_lu : float
        By how much (left + right) / 2 on both channels is softer, K-weighted, LU; not a number where nothing is left.
    """

    middle_db: float
    side_db: float
    correlation: float
    balance_db: float
    mono_loss_lu: float

    @property
    def side_over_middle_db(self) -> float:
        """Give the level of the side against the middle; infinite where one is missing."""
        return self.side_db - self.middle_db if math.isfinite(self.middle_db) else math.inf


def split_sides(loop: Clip) -> tuple[Values, Values]:
    """Give middle and side, (left ± right) / 2, each of shape (frames,)."""
    left, right = loop.samples.astype(np.float64).T
    return (left + right) / 2, (left - right) / 2


def fold_to_mono(loop: Clip) -> Clip:
    """Put the middle on both channels."""
    middle, _ = split_sides(loop)
    return loop.with_samples(np.stack([middle, middle], axis=1))


def measure_sides(loop: Clip) -> Sides:
    """Measure the two channels of a loop against each other.

    Parameters
    ----------
    loop : Clip
        One round.

    Returns
    -------
    Sides
        The loss in mono is that of the ungated loudness of ITU-R BS.1770-5, read round the loop.
    """
    left, right = loop.samples.astype(np.float64).T
    middle, side = split_sides(loop)
    both = float(left @ left) * float(right @ right)
    heard = both > SILENT**2
    return Sides(
        to_db(middle),
        to_db(side),
        float(left @ right) / math.sqrt(both) if heard else math.nan,
        to_db(left) - to_db(right) if heard else math.nan,
        _lose_in_mono(loop),
    )


def compare_sides(before: Sides, after: Sides) -> dict[str, float]:
    """List what can be read of two versions, each quantity before and after; what is no number is left out."""
    pairs = {
        "side_over_middle_{}_db": "side_over_middle_db",
        "correlation_{}": "correlation",
        "balance_{}_db": "balance_db",
        "mono_loss_{}_lu": "mono_loss_lu",
    }
    read = {
        name.format(when): float(getattr(sides, attribute))
        for name, attribute in pairs.items()
        for when, sides in (("before", before), ("after", after))
    }
    return {name: value for name, value in read.items() if math.isfinite(value)}


def describe_sides(measured: dict[str, float]) -> str:
    """Say what became of correlation and of loudness in mono; empty where neither could be read."""
    parts = []
    if "correlation_before" in measured and "correlation_after" in measured:
        was, became = (write_number(measured[f"correlation_{when}"], 2) for when in ("before", "after"))
        parts.append(f"correlation from {was} to {became}")
    if "mono_loss_before_lu" in measured and "mono_loss_after_lu" in measured:
        was, became = (write_number(measured[f"mono_loss_{when}_lu"]) for when in ("before", "after"))
        parts.append(f"loss in mono from {was} to {became} LU")
    return begin_large(", ".join(parts)) + "." if parts else ""


def to_db(values: Values) -> float:
    """Give the mean power of a row, dB; minus infinity for silence."""
    power = float(values @ values) / max(values.size, 1)
    return 10 * math.log10(power) if power > SILENT else -math.inf


def _lose_in_mono(loop: Clip) -> float:
    """Weight both channels once: the fold's weighted sound is the mean of theirs."""
    run_up = int(RUN_UP_S * loop.rate_hz)
    left, right = weight_k(extend_loop(loop.samples, run_up, 0), loop.rate_hz)[run_up:].T
    middle = (left + right) / 2
    stereo, mono = float(left @ left + right @ right), float(2 * (middle @ middle))
    return 10 * math.log10(stereo / mono) if min(stereo, mono) > SILENT else math.nan
