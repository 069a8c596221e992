"""Moves that weigh each moment's left and right anew, and know no past."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.dsp.move import Effect, Parameter, Picture, PlainMove, Settings, complete_settings
from trainer.dsp.processor import Processor, Rows
from trainer.dsp.stereo.sides import Sides, compare_sides, measure_sides
from trainer.errors import BadValue
from trainer.measure.response import measure_third_octaves

Weights = npt.NDArray[np.float64]


class Matrix:
    """Mix two channels into two.

    Parameters
    ----------
    weights : ndarray, shape (2, 2)
        The new left of left and right, then the new right of both.
    """

    latency_frames = 0

    def __init__(self, weights: Weights) -> None:
        self._weights = weights

    def process(self, block: Rows) -> Rows:
        """Mix a block."""
        return np.asarray(self._weights @ block)


@dataclass(frozen=True)
class MatrixMove(PlainMove, ABC):
    """A change of the two channels without memory: a subclass gives the weights and reads the amount."""

    name: str = ""
    title: str = ""
    unit: str = "dB"
    effect_name: str = ""
    parameters: tuple[Parameter, ...] = ()
    # Whether versions may be brought to one loudness; not where loudness itself is the question.
    matched: bool = True

    @abstractmethod
    def weigh(self, settings: Settings) -> Weights:
        """Give the weights, shape (2, 2), of complete settings; the unit matrix where nothing is asked."""

    @abstractmethod
    def read(self, before: Clip, after: Clip, sides: tuple[Sides, Sides], level_gain_db: float) -> float:
        """Read the amount from the sound."""

    @abstractmethod
    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say what the sound shows."""

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the setting of its name, where the loop has what it acts on."""
        full = complete_settings(self, {**settings, self.effect_name: amount})
        if not np.array_equal(self.weigh(full), np.eye(2)):
            self.examine(measure_sides(loop), amount)
        return full

    def examine(self, sides: Sides, amount: float) -> None:
        """Refuse a loop on which the amount cannot be had; by default none.

        Raises
        ------
        NotReachable
            With what the loop has.
        """
        return

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin; there is no past."""
        return Matrix(self.weigh(complete_settings(self, settings)))

    def run_up_s(self, settings: Settings) -> float:
        """Need no run-up."""
        return 0.0

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Mix the loop's channels anew; where nothing is asked it is the loop itself."""
        weights = self.weigh(complete_settings(self, settings))
        if np.array_equal(weights, np.eye(2)):
            return loop
        return loop.with_samples((weights @ loop.samples.T.astype(np.float64)).T)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read the amount, and compare the channels of both."""
        complete_settings(self, settings)
        sides = (measure_sides(before), measure_sides(after))
        require_sound(self.title, sides)
        amount = self.read(before, after, sides, level_gain_db)
        measured = {self.effect_name: amount, **compare_sides(*sides)}
        picture = Picture("response", measure_third_octaves(before.samples, after.samples, before.rate_hz))
        return Effect(amount, measured, picture, tuple(filter(None, self.describe(measured))))


def require_sound(title: str, sides: tuple[Sides, Sides]) -> None:
    """Refuse silence, of which nothing can be read.

    Raises
    ------
    BadValue
        If either version is silent.
    """
    for item in sides:
        if max(item.middle_db, item.side_db) == -math.inf:
            raise BadValue(title.lower(), "level_db", "−∞", "sound of which an effect can be read")


def weigh_side(gain: float) -> Weights:
    """Give the weights that turn the side by a factor and leave the middle alone."""
    return np.array([[1 + gain, 1 - gain], [1 - gain, 1 + gain]]) / 2


def read_side_gain_db(sides: tuple[Sides, Sides]) -> float:
    """Read by how much the side went against the middle, dB; minus infinity where it went away.

    Raises
    ------
    BadValue
        If there was no side or no middle before.
    """
    before, after = sides
    if not (math.isfinite(before.side_db) and math.isfinite(before.middle_db)):
        raise BadValue("stereo", "side_over_middle_db", "none", "both a middle and a side signal")
    return after.side_over_middle_db - before.side_over_middle_db
