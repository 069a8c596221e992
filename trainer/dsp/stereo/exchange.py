"""Polarity and exchanged sides: on or off, and read from the sound like everything else."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.move import Need, Parameter, Settings
from trainer.dsp.stereo.matrix import MatrixMove, Weights
from trainer.dsp.stereo.sides import Sides, describe_sides
from trainer.dsp.stereo.width import need_side, require_side
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import StretchContents
from trainer.units import write_number

HALF_TURN_DEG = 180.0
WHOLE_PERCENT = 100.0
# A middle that can go missing; common practice, no source.
LEAST_CORRELATION = 0.3


@dataclass(frozen=True)
class Polarity(MatrixMove):
    """Turn the right channel upside down: what was in the middle is nowhere."""

    name: str = "polarity"
    title: str = "Polarity"
    unit: str = "deg"
    effect_name: str = "turn_deg"
    parameters: tuple[Parameter, ...] = (
        Parameter("turn_deg", "deg", 0.0, HALF_TURN_DEG, HALF_TURN_DEG, (0.0, HALF_TURN_DEG)),
    )

    def weigh(self, settings: Settings) -> Weights:
        """Turn the right channel, or nothing."""
        return np.diag([1.0, -1.0 if settings["turn_deg"] == HALF_TURN_DEG else 1.0])

    def examine(self, sides: Sides, amount: float) -> None:
        """Refuse a loop with one silent channel."""
        if not math.isfinite(sides.correlation):
            raise NotReachable(f"polarity: amount={amount:g}, expected 0 deg on this excerpt: one side is silent")

    def read(self, before: Clip, after: Clip, sides: tuple[Sides, Sides], level_gain_db: float) -> float:
        """Read the angle by which each channel has turned, and compare right with left."""
        left, right = (_turned_deg(before.samples[:, side], after.samples[:, side]) for side in (0, 1))
        return abs(right - left)

    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say which way the right channel goes, and what follows."""
        turn = write_number(measured["turn_deg"], 0)
        return (f"The right channel is turned by {turn} degrees against the left.", describe_sides(measured))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a middle."""
        expected = f"{LEAST_CORRELATION:g} or more: a middle that can go missing"
        return (Need("correlation", contents.correlation, LEAST_CORRELATION, expected),)


@dataclass(frozen=True)
class SwapSides(MatrixMove):
    """Let left and right change places."""

    name: str = "swap_sides"
    title: str = "Swapped sides"
    unit: str = "percent"
    effect_name: str = "swap_percent"
    parameters: tuple[Parameter, ...] = (
        Parameter("swap_percent", "percent", 0.0, WHOLE_PERCENT, WHOLE_PERCENT, (0.0, WHOLE_PERCENT)),
    )

    def weigh(self, settings: Settings) -> Weights:
        """Exchange the channels, or nothing."""
        return np.eye(2) if settings["swap_percent"] == 0 else np.eye(2)[::-1].copy()

    def examine(self, sides: Sides, amount: float) -> None:
        """Refuse a loop whose channels are alike."""
        require_side(self.name, sides, amount)

    def read(self, before: Clip, after: Clip, sides: tuple[Sides, Sides], level_gain_db: float) -> float:
        """Explain each new channel by both old ones, and take the share of the other one."""
        old, new = before.samples.astype(np.float64), after.samples.astype(np.float64)
        found = np.abs(np.linalg.pinv(old.T @ old, rcond=1e-12) @ (old.T @ new))
        return float(WHOLE_PERCENT * (found[0, 1] + found[1, 0]) / max(float(found.sum()), 1e-30))

    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say what stands where, and which side is louder."""
        share = write_number(measured["swap_percent"], 0)
        first = f"{share} per cent of each channel comes from the other side."
        was, became = (measured.get(f"balance_{when}_db") for when in ("before", "after"))
        if was is None or became is None:
            return (first,)
        levels = (write_number(value, signed=True) for value in (was, became))
        return (first, "Left over right: {} dB before, {} dB now.".format(*levels))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for something at the sides."""
        return (need_side(contents),)


def _turned_deg(was: np.ndarray, became: np.ndarray) -> float:
    """Angle between a channel before and after as vectors, degrees."""
    x, y = was.astype(np.float64), became.astype(np.float64)
    both = float(x @ x) * float(y @ y)
    if both <= 0:
        raise BadValue("polarity", "level_db", "−∞", "sound on both sides")
    return math.degrees(math.acos(max(-1.0, min(1.0, float(x @ y) / math.sqrt(both)))))
