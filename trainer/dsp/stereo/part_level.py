"""One part of a song turned up or down: what only the mix can do, to be told from what a master can."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.move import Effect, Parameter, Picture, PlainMove, Settings, complete_settings
from trainer.errors import BadValue, NotReachable
from trainer.measure.loudness import measure_loop_level_db
from trainer.measure.response import measure_third_octaves
from trainer.units import db_to_gain, write_number

# A part further below the song than this cannot be what a question is about.
LEAST_PART_DB = -18.0


@dataclass(frozen=True)
class PartLevel(PlainMove):
    """Turn one part of the mix, whose own sound is known.

    Parameters
    ----------
    part_name : str
        Which part: a song has to come with its stem.
    part, mix : Clip or None
        The part's share of a loop, and the loop itself as it was cut.
    """

    name: str
    title: str
    part_name: str
    part: Clip | None = None
    mix: Clip | None = None
    unit: str = "dB"
    effect_name: str = "part_db"
    parameters: tuple[Parameter, ...] = (Parameter("part_db", "dB", -12.0, 12.0, 0.0),)

    def with_part(self, part: Clip, mix: Clip) -> PartLevel:
        """Give the same move for one loop: the part's share of it, and the loop as it was cut."""
        return replace(self, part=part, mix=mix)

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the setting of its name; refuse a loop in which the part hardly sounds."""
        part = self._share(loop)
        under_db = measure_loop_level_db(part.samples, part.rate_hz) - measure_loop_level_db(loop.samples, loop.rate_hz)
        if not under_db >= LEAST_PART_DB:
            held = write_number(under_db, 0)
            raise NotReachable(
                f"{self.name}: part_level_db={held}, expected {write_number(LEAST_PART_DB, 0)} or more here"
            )
        return complete_settings(self, {**settings, "part_db": amount})

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Add as much of the part as it is to be louder; nothing for 0 dB."""
        gain = db_to_gain(complete_settings(self, settings)["part_db"]) - 1.0
        part = self._share(loop)
        return loop if gain == 0 else loop.with_samples(loop.samples + gain * part.samples.astype(np.float64))

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Find by least squares how much of the part was added, and how far the loop had been turned before."""
        part, mix = self._share(before).samples.astype(np.float64), self.mix
        x, y = before.samples.astype(np.float64).reshape(-1), after.samples.astype(np.float64).reshape(-1)
        found, *_ = np.linalg.lstsq(np.stack([x, part.reshape(-1)], axis=1), y, rcond=None)
        whole = x if mix is None else mix.samples.astype(np.float64).reshape(-1)
        turned = float(x @ whole) / max(float(whole @ whole), 1e-30)
        gain = 1.0 + float(found[1] / found[0]) / max(turned, 1e-9)
        part_db = 20 * math.log10(max(gain, 1e-6))
        bands = measure_third_octaves(before.samples, after.samples, before.rate_hz)
        word = "louder" if part_db >= 0 else "softer"
        said = f"The {self.part_name} is {write_number(abs(part_db))} dB {word} in the mix; nothing else was touched."
        return Effect(part_db, {"part_db": part_db}, Picture("response", bands), (said,))

    def _share(self, loop: Clip) -> Clip:
        if self.part is None or self.part.frames != loop.frames:
            raise BadValue(self.name, "part", "none", f"a song with a stem of its {self.part_name}")
        return self.part
