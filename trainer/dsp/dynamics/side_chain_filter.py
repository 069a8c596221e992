"""The side-chain's high-pass as a move: with it against without, at equal reduction of the snare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.coarse_trace import CoarseTrace
from trainer.dsp.dynamics.compared import REFERENCE_THRESHOLD, ComparedMove, Comparison, Full, Seen
from trainer.dsp.dynamics.compression import LOWEST_SIDE_CHAIN_HZ
from trainer.dsp.dynamics.compressor_needs import need_kick_and_snare
from trainer.dsp.dynamics.compressor_settings import read_compression, set_defaults
from trainer.dsp.move import Need, Parameter, Settings
from trainer.errors import BadValue
from trainer.measure.beat import Flags, Strokes, measure_gain_at_hits, spread_hits
from trainer.measure.contents import StretchContents
from trainer.measure.reduction import Reduction
from trainer.units import write_number

HIGHEST_HZ = 500.0
TRIES = 13
# No filter, on a scale of ratios.
NONE_HZ = LOWEST_SIDE_CHAIN_HZ / 2


@dataclass(frozen=True)
class SideChainFilter(ComparedMove):
    """Keep the kick from steering the compressor; both reduce the snare equally, and the kick comes up."""

    name: str = "side_chain_filter"
    title: str = "Side-chain filter"
    unit: str = "dB"
    effect_name: str = "kick_over_snare_db"
    parameters: tuple[Parameter, ...] = (
        *set_defaults(attack_ms=2.0, release_ms=120.0, ratio_to_1=8.0),
        REFERENCE_THRESHOLD,
        Parameter("reduction_on_snare_db", "dB", 0.5, 20.0, 8.0),
    )

    @property
    def varied(self) -> str:
        """They differ in the corner of the high-pass."""
        return "side_chain_hz"

    @property
    def equal(self) -> str:
        """Both reduce the snare by this."""
        return "reduction_on_snare_db"

    def read_reference(self, full: Settings) -> float:
        """Put no filter into the reference."""
        return 0.0

    def list_values(self, full: Settings) -> Sequence[float]:
        """Go from no filter by 10 Hz, where it begins, to 500 Hz."""
        return [NONE_HZ, *(float(value) for value in np.geomspace(LOWEST_SIDE_CHAIN_HZ, HIGHEST_HZ, TRIES))]

    def choose_hits(self, strokes: Strokes) -> Flags:
        """Reduce the snare equally; where there is no kick, there is nothing to compare."""
        return np.asarray(strokes.snares & strokes.kicks.any())

    def steer(self, trace: CoarseTrace, full: Full) -> CoarseTrace:
        """Read the levels again behind another filter."""
        return CoarseTrace(trace.loop, read_compression(full))

    def estimate(self, comparison: Comparison, reduction: Reduction) -> float:
        """Put both reductions on the loop's powers, at the kicks and at the snares."""
        was, became = (10 ** (-item.reduction_db / 20) for item in (comparison.reference, reduction))
        power = comparison.trace.power

        def gain_db(hits: Flags) -> float:
            at = spread_hits(hits, power.size, reduction.step_s)
            common = float((power * was * became)[at].sum())
            return float(20 * np.log10(max(common, 1e-30) / max(float((power * was * was)[at].sum()), 1e-30)))

        return gain_db(comparison.strokes.kicks) - gain_db(comparison.strokes.snares)

    def read_amount(self, before: Clip, after: Clip, strokes: Strokes) -> float:
        """Compare the gain between the two sounds at the kicks with that at the snares."""
        kick = measure_gain_at_hits(before.samples, after.samples, before.rate_hz, strokes.kicks)
        snare = measure_gain_at_hits(before.samples, after.samples, before.rate_hz, strokes.snares)
        if kick is None or snare is None:
            raise BadValue(self.name, "kick_and_snare_hits", 0, "a kick, and a snare apart from it")
        return kick - snare

    def read_more(self, seen: Seen) -> dict[str, float | None]:
        """Read the gain that is left between the snares of the two."""
        before, after = seen.before, seen.after
        snare = measure_gain_at_hits(before.samples, after.samples, before.rate_hz, seen.strokes.snares)
        return {"gain_on_snare_db": None if snare is None else snare - seen.level_gain_db}

    def describe(self, amount: float) -> str:
        """Say how far the kick came up."""
        word = "more" if amount >= 0 else "less"
        return f"Against the snare the kick has {write_number(abs(amount))} dB {word}."

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a strong kick, a snare, and something that goes on."""
        return need_kick_and_snare(contents)
