"""Faults whose strength is how far they stand over what surrounds them: what click and pop share."""

from __future__ import annotations

from abc import abstractmethod

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.faults.fault import Fault, draw_change, need_gap, read_change
from trainer.dsp.faults.levels import find_floor, measure_song_rms
from trainer.dsp.faults.planted import Wave, require_sound
from trainer.dsp.move import Effect, Need, Settings, complete_settings
from trainer.measure.contents import StretchContents

LEAST_GAP_DB = 3.0


class StandingOut(Fault):
    """A base; a strength of 0 dB is as strong as what surrounds the fault, and no absence of it."""

    @abstractmethod
    def read(self, before: Wave, change: Wave, rate_hz: int, floor: float) -> tuple[int, float]:
        """Read the frame and the strength, dB, from what was there and what was added, shape (frames, 2)."""

    @abstractmethod
    def describe(self, place_s: float, strength_db: float) -> str:
        """Say where it is and how far it stands out."""

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Plant the fault; silence stays silent."""
        full = complete_settings(self, settings)
        return self.plant(loop, full).clip if loop.samples.any() else loop

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Compare what was added with its surroundings, both within the fault's band."""
        require_sound(before, self.name)
        change = read_change(before, after, level_gain_db)
        floor = find_floor(measure_song_rms(before))
        frame, strength_db = self.read(before.samples.astype(np.float64), change, before.rate_hz, floor)
        place_s = frame / before.rate_hz
        measured = {self.effect_name: strength_db, "place_s": place_s}
        return Effect(strength_db, measured, draw_change(before, change), (self.describe(place_s, strength_db),))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a moment that does not cover it."""
        return (need_gap(contents, LEAST_GAP_DB),)
