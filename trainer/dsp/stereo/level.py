"""Level as a move: the one question in which versions are not brought to one loudness."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.move import Need, Parameter, Settings
from trainer.dsp.needs import need_loud_part
from trainer.dsp.stereo.matrix import MatrixMove, Weights
from trainer.dsp.stereo.sides import Sides
from trainer.measure.contents import StretchContents
from trainer.units import db_to_gain, write_amount, write_number

# Common practice, no source: a full, steady section without a fade.
MOST_UNDER_LOUDEST_DB = 6.0
MOST_SOFTER_DB = 12.0


@dataclass(frozen=True)
class Level(MatrixMove):
    """Turn everything up or down and change nothing else."""

    name: str = "level"
    title: str = "Level"
    effect_name: str = "level_db"
    parameters: tuple[Parameter, ...] = (Parameter("level_db", "dB", -12.0, 12.0, 0.0),)
    linear: bool = True
    matched: bool = False

    def weigh(self, settings: Settings) -> Weights:
        """Turn both channels alike."""
        return np.eye(2) * db_to_gain(settings["level_db"])

    def read(self, before: Clip, after: Clip, sides: tuple[Sides, Sides], level_gain_db: float) -> float:
        """Compare the powers of everything."""
        was, became = (float((clip.samples.astype(np.float64) ** 2).sum()) for clip in (before, after))
        return 10 * math.log10(became / was) - level_gain_db

    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say how much."""
        return (f"{write_amount(measured['level_db'], signed=True)} dB of everything, and nothing else.",)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a full and steady section."""
        softer = write_number(-MOST_SOFTER_DB, 0)
        return (
            need_loud_part(contents, MOST_UNDER_LOUDEST_DB, 0),
            Need(
                "softest_second_db",
                contents.softest_db - contents.loudness_db,
                -MOST_SOFTER_DB,
                f"{softer} or more against the whole: a steady section, no fade",
            ),
        )
