"""What the faults have in common as moves on a loop: asked as they are read, planted at a place that is picked."""

from __future__ import annotations

from abc import ABC, abstractmethod

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.faults.levels import LOWEST_DB
from trainer.dsp.faults.planted import Planted, Wave, require_sound
from trainer.dsp.move import Curve, Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings
from trainer.measure.contents import StretchContents
from trainer.units import db_to_gain, write_number

PLACE = Parameter("place_share", "share", 0.0, 1.0, 0.5)
PICTURE_STEP_S = 0.02
# Three roundings to float32 on the way stay below this share of a sample.
ROUNDING = 6e-7


class Fault(PlainMove, ABC):
    """A base for faults whose strength is set as it is read from the sound.

    The setting that bears the name of the effect holds the strength; ``place_share`` picks, where there is a choice,
    one of the places at which the loop lets the fault be heard: 0 the first, 1 the last. Each round repeats it.
    """

    name: str
    title: str
    unit: str
    effect_name: str
    parameters: tuple[Parameter, ...]

    @abstractmethod
    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Plant the fault in a loop that is not silent; complete settings."""

    @abstractmethod
    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read the fault from the sound."""

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the strength."""
        full = complete_settings(self, {**settings, self.effect_name: amount})
        require_sound(loop, self.name)
        return full

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Plant the fault; silence, and a loop whose fault has a strength of 0, stay as they are."""
        full = complete_settings(self, settings)
        if full[self.effect_name] == 0 or not loop.samples.any():
            return loop
        return self.plant(loop, full).clip


def read_change(before: Clip, after: Clip, level_gain_db: float) -> Wave:
    """Read what was changed before the level was: a wave, shape (frames, 2), of exact zeros where nothing was."""
    x = before.samples.astype(np.float64)
    y = after.samples.astype(np.float64) / db_to_gain(level_gain_db)
    change = y - x
    change[np.abs(change) <= ROUNDING * np.maximum(np.abs(x), np.abs(y))] = 0.0
    return change


def draw_change(before: Clip, change: Wave) -> Picture:
    """Draw the level of what was changed against the song's, over time."""
    return Picture("level", follow_change(before, change))


def follow_change(before: Clip, change: Wave) -> Curve:
    """Follow the level of what was changed against the song's, s and dB, in steps of 20 ms."""
    length = max(1, int(PICTURE_STEP_S * before.rate_hz))
    song = float(np.mean(np.square(before.samples, dtype=np.float64))) if before.frames else 0.0
    power = np.add.reduceat((change**2).sum(axis=1), np.arange(0, change.shape[0], length)) / (2 * length)
    level = 10 * np.log10(np.maximum(power / max(song, 1e-30), 10 ** (LOWEST_DB / 10)))
    times = (np.arange(level.size) + 0.5) * length / before.rate_hz
    return tuple(zip(times.tolist(), level.tolist(), strict=True))


def find_first(change: Wave) -> int:
    """Find the first frame that was changed; 0 if none was."""
    changed = np.flatnonzero(change.any(axis=1))
    return int(changed[0]) if changed.size else 0


def find_last(change: Wave) -> int:
    """Find the last frame that was changed; 0 if none was."""
    changed = np.flatnonzero(change.any(axis=1))
    return int(changed[-1]) if changed.size else 0


def name_sides(change: Wave) -> str:
    """Name the channel that was changed."""
    left, right = change[:, 0].any(), change[:, 1].any()
    return "both" if left == right else "left" if left else "right"


def need_gap(contents: StretchContents, least_db: float) -> Need:
    """Ask for a moment that does not cover the fault."""
    expected = f"{write_number(least_db, 0)} dB or more: a moment that does not cover the fault"
    return Need("gap_depth_db", -contents.gap_db, least_db, expected)
