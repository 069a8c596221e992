"""Attack as a move: a shorter one against a long one, at equal reduction of the snare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.compared import REFERENCE_THRESHOLD, ComparedMove, Comparison, Seen
from trainer.dsp.dynamics.compressor_needs import SHARP_PEAK_OVER_RMS_DB, need_hits
from trainer.dsp.dynamics.compressor_settings import set_defaults
from trainer.dsp.move import Need, Parameter, Settings
from trainer.errors import BadValue
from trainer.measure.beat import Flags, Strokes
from trainer.measure.contents import StretchContents
from trainer.measure.fronts import compare_fronts, measure_fronts_over_song
from trainer.measure.reduction import Reduction
from trainer.units import write_number

SHORTEST_MS = 0.1
TRIES = 14


@dataclass(frozen=True)
class Attack(ComparedMove):
    """Catch the front of the hits that a long attack lets through; both reduce the snare equally.

    The amount is what the front of the snare loses: the level of its loudest 10 ms over the song's loudness, with the
    long attack less with the short one. It grows as the attack shortens, and it is in the unit of all dynamics, which
    milliseconds are not. A snare's highest sample would not do: no attack catches the first one, so it hardly moves.
    """

    name: str = "attack"
    title: str = "Attack"
    unit: str = "dB"
    effect_name: str = "snare_front_lost_db"
    parameters: tuple[Parameter, ...] = (
        *set_defaults(attack_ms=1.0, release_ms=60.0, ratio_to_1=8.0),
        Parameter("reference_attack_ms", "ms", 5.0, 200.0, 60.0),
        REFERENCE_THRESHOLD,
        Parameter("reduction_on_snare_db", "dB", 0.5, 20.0, 10.0),
    )

    @property
    def varied(self) -> str:
        """They differ in attack."""
        return "attack_ms"

    @property
    def equal(self) -> str:
        """Both reduce the snare by this."""
        return "reduction_on_snare_db"

    def read_reference(self, full: Settings) -> float:
        """Give the long attack."""
        return full["reference_attack_ms"]

    def list_values(self, full: Settings) -> Sequence[float]:
        """Go from the long attack to 0.1 ms."""
        return [float(value) for value in np.geomspace(full["reference_attack_ms"], SHORTEST_MS, TRIES)]

    def choose_hits(self, strokes: Strokes) -> Flags:
        """Reduce the snare equally."""
        return strokes.snares

    def estimate(self, comparison: Comparison, reduction: Reduction) -> float:
        """Put both reductions on the loop's powers."""
        return _front_db(comparison, comparison.reference) - _front_db(comparison, reduction)

    def read_amount(self, before: Clip, after: Clip, strokes: Strokes) -> float:
        """Compare the fronts of the snare over the song in the two sounds."""
        was = measure_fronts_over_song(before.samples, before.rate_hz, strokes.snares)
        became = measure_fronts_over_song(after.samples, after.rate_hz, strokes.snares)
        if was is None or became is None:
            raise BadValue(self.name, "snare_hits", 0, "a snare, apart from the kick")
        return was - became

    def read_more(self, seen: Seen) -> dict[str, float | None]:
        """Nothing but the drums."""
        return {}

    def describe(self, amount: float) -> str:
        """Say what the front of the snare lost."""
        word = "less" if amount >= 0 else "more"
        return f"The front of the snare has {write_number(abs(amount))} dB {word}, measured against the song."

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for separate, sharp hits."""
        return need_hits(contents, SHARP_PEAK_OVER_RMS_DB)


def _front_db(comparison: Comparison, reduction: Reduction) -> float:
    """Estimate how far the snares' fronts stand over the song under a reduction."""
    gain = 10 ** (-reduction.reduction_db / 10)
    trace = comparison.trace
    return compare_fronts(trace.power * gain, trace.weighted_power * gain, reduction.step_s, comparison.strokes.snares)
