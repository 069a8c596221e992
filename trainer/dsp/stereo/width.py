"""Width and mono as moves: the gain of the side signal, the middle left alone."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.audio.clip import Clip
from trainer.dsp.move import Need, Parameter, Settings
from trainer.dsp.stereo.matrix import MatrixMove, Weights, read_side_gain_db, weigh_side
from trainer.dsp.stereo.sides import NO_SIDE_DB, Sides, describe_sides
from trainer.errors import NotReachable
from trainer.measure.contents import StretchContents
from trainer.units import db_to_gain, write_number

# A correlation of 0.9 between equally loud channels puts the side so far below the middle (arithmetic);
# that a question needs less correlation than this is common practice, no source.
LEAST_SIDE_DB = -12.8
# So far down the side counts as gone, and at this setting it is.
GONE_DB = 60.0


@dataclass(frozen=True)
class Width(MatrixMove):
    """Turn the difference of the channels up or down against their sum."""

    name: str = "width"
    title: str = "Width"
    effect_name: str = "side_gain_db"
    parameters: tuple[Parameter, ...] = (Parameter("side_gain_db", "dB", -24.0, 12.0, 0.0),)

    def weigh(self, settings: Settings) -> Weights:
        """Turn the side."""
        return weigh_side(db_to_gain(settings["side_gain_db"]))

    def examine(self, sides: Sides, amount: float) -> None:
        """Refuse a loop without a side."""
        require_side(self.name, sides, amount)

    def read(self, before: Clip, after: Clip, sides: tuple[Sides, Sides], level_gain_db: float) -> float:
        """Compare the side against the middle, before and after."""
        return max(read_side_gain_db(sides), -GONE_DB)

    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say how far the sides went, and what follows."""
        first = f"Sides {write_number(measured['side_gain_db'], 1, signed=True)} dB against the middle."
        return (first, describe_sides(measured))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for something at the sides."""
        return (need_side(contents),)


@dataclass(frozen=True)
class Mono(MatrixMove):
    """Take the sides down, up to having none."""

    name: str = "mono"
    title: str = "Mono"
    effect_name: str = "side_cut_db"
    parameters: tuple[Parameter, ...] = (Parameter("side_cut_db", "dB", 0.0, GONE_DB, GONE_DB),)

    def weigh(self, settings: Settings) -> Weights:
        """Turn the side down; at the end of the range it is off."""
        cut_db = settings["side_cut_db"]
        return weigh_side(0.0 if cut_db >= GONE_DB else db_to_gain(-cut_db))

    def examine(self, sides: Sides, amount: float) -> None:
        """Refuse a loop without a side."""
        require_side(self.name, sides, amount)

    def read(self, before: Clip, after: Clip, sides: tuple[Sides, Sides], level_gain_db: float) -> float:
        """Compare the side against the middle, before and after; 60 dB or more is gone."""
        return min(-read_side_gain_db(sides), GONE_DB)

    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say how far the sides went, and what follows."""
        first = f"Sides {write_number(measured['side_cut_db'])} dB down against the middle."
        if measured["side_cut_db"] >= GONE_DB - 0.5:
            first = "Both channels play the middle; the sides are gone."
        return (first, describe_sides(measured))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for something at the sides."""
        return (need_side(contents),)


def need_side(contents: StretchContents) -> Need:
    """Ask for something at the sides."""
    expected = f"{write_number(LEAST_SIDE_DB, 0)} or more: something at the sides"
    return Need("side_over_middle_db", contents.side_db, LEAST_SIDE_DB, expected)


def require_side(name: str, sides: Sides, amount: float) -> None:
    """Refuse a loop whose channels are alike, or have nothing in common.

    Raises
    ------
    NotReachable
        With what there is.
    """
    found = sides.side_over_middle_db
    if not (math.isfinite(found) and found > NO_SIDE_DB):
        expected = "0 dB on this excerpt: it has no side or no middle"
        raise NotReachable(f"{name}: amount={amount:g}, expected {expected}")
