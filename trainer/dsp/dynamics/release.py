"""Release as a move: a faster one against a slow one, at equal reduction on the hits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.compared import REFERENCE_THRESHOLD, ComparedMove, Comparison, Seen
from trainer.dsp.dynamics.compressor_needs import need_beat, need_gaps
from trainer.dsp.dynamics.compressor_settings import set_defaults
from trainer.dsp.move import Need, Parameter, Settings
from trainer.measure.beat import Flags, Strokes, measure_movement
from trainer.measure.contents import StretchContents
from trainer.measure.reduction import Reduction, measure_reduction
from trainer.measure.roughness import find_held_bass, measure_roughness_db
from trainer.units import write_number

FASTEST_MS = 10.0
TRIES = 16


@dataclass(frozen=True)
class Release(ComparedMove):
    """Let the gain come back sooner than a slow reference does; both reduce the beats equally."""

    name: str = "release"
    title: str = "Release"
    unit: str = "dB"
    effect_name: str = "swing_over_reference_db"
    parameters: tuple[Parameter, ...] = (
        *set_defaults(attack_ms=5.0, ratio_to_1=8.0, knee_db=3.0),
        Parameter("reference_release_ms", "ms", 100.0, 5000.0, 3000.0),
        REFERENCE_THRESHOLD,
        Parameter("reduction_on_beats_db", "dB", 0.5, 20.0, 6.0),
    )

    @property
    def varied(self) -> str:
        """They differ in release."""
        return "release_ms"

    @property
    def equal(self) -> str:
        """Both reduce the beats by this."""
        return "reduction_on_beats_db"

    def read_reference(self, full: Settings) -> float:
        """Give the slow release."""
        return full["reference_release_ms"]

    def list_values(self, full: Settings) -> Sequence[float]:
        """Go from the slow release to 10 ms."""
        return [float(value) for value in np.geomspace(full["reference_release_ms"], FASTEST_MS, TRIES)]

    def choose_hits(self, strokes: Strokes) -> Flags:
        """Reduce all beats equally."""
        return strokes.beats

    def estimate(self, comparison: Comparison, reduction: Reduction) -> float:
        """Take the swing of the difference of the two reductions."""
        between = reduction.reduction_db - comparison.reference.reduction_db
        return measure_movement(Reduction(reduction.step_s, between), comparison.strokes.beats).swing_db

    def read_amount(self, before: Clip, after: Clip, strokes: Strokes) -> float:
        """Read the swing of the gain between the two sounds."""
        between = measure_reduction(before.samples, after.samples, before.rate_hz, 1.0)
        return measure_movement(between, strokes.beats).swing_db

    def read_more(self, seen: Seen) -> dict[str, float | None]:
        """Read the roughness on held bass."""
        held = find_held_bass(seen.before.samples, seen.before.rate_hz)
        return {"roughness_over_reference_db": measure_roughness_db(seen.between, held)}

    def describe(self, amount: float) -> str:
        """Say how much more of the gain comes back."""
        return f"Between the beats {write_number(amount)} dB more of the gain comes back than with the slow release."

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a steady beat with sound in the gaps."""
        return (*need_beat(contents), *need_gaps(contents))
