"""Two settings of one compressor compared at equal reduction of the hits: what release, attack and side-chain share."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.coarse_trace import CoarseTrace
from trainer.dsp.dynamics.compression import count_run_up, forget_s
from trainer.dsp.dynamics.compressor import DEPTHS_DB, LEAST_AMOUNT_DB, draw_reduction
from trainer.dsp.dynamics.compressor_processor import CompressorProcessor
from trainer.dsp.dynamics.compressor_settings import read_compression
from trainer.dsp.dynamics.solving import Reading, check_amount, find_first, find_near, put_right, refuse_silence
from trainer.dsp.move import Effect, Parameter, Picture, PlainMove, Settings, complete_settings
from trainer.dsp.processor import Processor, run_round
from trainer.errors import NotReachable
from trainer.measure.beat import Flags, Strokes, find_strokes, measure_at_hits
from trainer.measure.compression import measure_drums, refuse_short
from trainer.measure.reduction import Reduction, measure_reduction
from trainer.units import db_to_gain

Full = dict[str, float]
REFERENCE_THRESHOLD = Parameter("reference_threshold_dbfs", "dBFS", -120.0, 60.0, 0.0)


@dataclass(frozen=True)
class Comparison:
    """What a solver compares with: the loop's levels, the reference's reduction, and where the drums are.

    Parameters
    ----------
    trace : CoarseTrace
        Of the loop.
    reference : Reduction
        As the trace has it.
    strokes : Strokes
        Found in the reference's sound.
    """

    trace: CoarseTrace
    reference: Reduction
    strokes: Strokes


@dataclass(frozen=True)
class Seen:
    """What there is to read from: both sounds, the drums in the first, and the gain between them.

    Parameters
    ----------
    before, after : Clip
        The reference's sound and the move's.
    strokes : Strokes
        Found in the reference's sound.
    between : Reduction
        How far the second is below the first, without what it was turned as a whole.
    level_gain_db : float
        What it was turned as a whole.
    """

    before: Clip
    after: Clip
    strokes: Strokes
    between: Reduction
    level_gain_db: float


@dataclass
class _Search:
    """Try values of the varied setting, from the reference's on, each with the threshold for equal reduction."""

    effect: Callable[[float], float]
    values: Sequence[float]
    found: list[float] = field(default_factory=list)

    def find(self, wished: float, where: str) -> float:
        """Give the value, between those tried, at which the effect is first reached."""
        for number, value in enumerate(self.values):
            if number == len(self.found):
                self.found.append(self.effect(value) if number else 0.0)
            if number and self.found[number] >= wished:
                low, high = self.found[number - 1], self.found[number]
                share = (wished - low) / (high - low)
                return float(self.values[number - 1] ** (1 - share) * value**share)
        most = max(self.found)
        raise NotReachable(f"{where}: amount={wished:.2f}, expected at most {most:.1f} dB on this excerpt")


class ComparedMove(PlainMove, ABC):
    """Base of moves that compare a compressor with another setting of itself.

    Both settings reduce the hits in question equally, so that one threshold for two settings, by which the more
    active one would also compress more, gives nothing away. Two thresholds are therefore solved for.
    """

    name: str
    title: str
    unit: str = "dB"
    effect_name: str
    parameters: tuple[Parameter, ...]

    @property
    @abstractmethod
    def varied(self) -> str:
        """The setting in which the two differ."""

    @property
    @abstractmethod
    def equal(self) -> str:
        """The setting that says how far both reduce the hits."""

    @abstractmethod
    def list_values(self, full: Settings) -> Sequence[float]:
        """List values of the varied setting, the reference's first, on the way to the largest effect; all above 0."""

    @abstractmethod
    def choose_hits(self, strokes: Strokes) -> Flags:
        """Choose the hits that both reduce equally."""

    @abstractmethod
    def estimate(self, comparison: Comparison, reduction: Reduction) -> float:
        """Estimate the effect of a coarse reduction against the reference's, dB."""

    @abstractmethod
    def read_amount(self, before: Clip, after: Clip, strokes: Strokes) -> float:
        """Read the effect from the two sounds, whatever their levels, dB."""

    @abstractmethod
    def read_reference(self, full: Settings) -> float:
        """Give the reference's value of the varied setting."""

    @abstractmethod
    def read_more(self, seen: Seen) -> dict[str, float | None]:
        """Read further quantities of the move's own; what cannot be read is None."""

    @abstractmethod
    def describe(self, amount: float) -> str:
        """Say in a sentence what the sounds show."""

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read the effect from the reference's sound and the move's; the level of the whole does not matter."""
        complete_settings(self, settings)
        refuse_short(before.samples, before.rate_hz)
        strokes = find_strokes(before.samples, before.rate_hz)
        amount = self.read_amount(before, after, strokes)
        between = measure_reduction(before.samples, after.samples, before.rate_hz, db_to_gain(level_gain_db))
        read = {
            self.effect_name: amount,
            **self.read_more(Seen(before, after, strokes, between, level_gain_db)),
            **measure_drums(before.samples, after.samples, before.rate_hz, strokes),
        }
        measured = {name: value for name, value in read.items() if value is not None}
        return Effect(amount, measured, Picture("reduction", draw_reduction(between)), (self.describe(amount),))

    def refer(self, loop: Clip, settings: Settings) -> Clip:
        """Compress the loop as the reference does."""
        return self._compress(loop, self._refer_settings(complete_settings(self, settings)))

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Compress the loop in steady state."""
        return self._compress(loop, complete_settings(self, settings))

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence, with the move's settings and not the reference's."""
        return CompressorProcessor(read_compression(complete_settings(self, settings)), rate_hz)

    def run_up_s(self, settings: Settings) -> float:
        """Forget after twelve time constants."""
        return forget_s(read_compression(complete_settings(self, settings)))

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find both thresholds and the varied setting; for 0 dB, the reference's own."""
        full = complete_settings(self, settings)
        check_amount(self.name, amount)
        refuse_short(loop.samples, loop.rate_hz)
        full |= {self.varied: self.read_reference(full)}
        trace = CoarseTrace(loop, read_compression(full))
        refuse_silence(self.name, trace.peak_dbfs)
        strokes = find_strokes(loop.samples, loop.rate_hz)
        hits = self.choose_hits(strokes)
        if not hits.any():
            raise NotReachable(f"{self.name}: hits=0, expected drums, snare and kick apart, on this excerpt")
        full = self._solve_reference(loop, full, trace, hits)
        if amount < LEAST_AMOUNT_DB:
            return complete_settings(self, full)
        reference = self.refer(loop, full)
        found = find_strokes(reference.samples, reference.rate_hz)
        comparison = Comparison(trace, trace.reduce(read_compression(full)), found)

        def read(tried: Full) -> tuple[float, float]:
            after = self.render(loop, tried)
            return self.read_amount(reference, after, found), _read_at_hits(loop, after, hits)

        ask = self._make_asker(comparison, full, hits)
        return complete_settings(self, put_right(ask, read, (amount, full[self.equal]), self.name))

    def _make_asker(self, comparison: Comparison, full: Full, hits: Flags) -> Callable[[Reading], Full]:
        """Give a coarse solver for (effect, reduction of the hits)."""
        trace, guess = comparison.trace, full["threshold_dbfs"]

        def balance(value: float, equal_db: float) -> tuple[CoarseTrace, Full]:
            tried = full | {self.varied: value}
            steered = self.steer(trace, tried)
            threshold = find_near(
                lambda level: _at_hits(steered.reduce(read_compression(tried | {"threshold_dbfs": level})), hits),
                equal_db,
                guess,
            )
            return steered, tried | {"threshold_dbfs": threshold}

        def effect(value: float) -> float:
            steered, tried = balance(value, full[self.equal])
            return self.estimate(comparison, steered.reduce(read_compression(tried)))

        search = _Search(effect, self.list_values(full))
        return lambda asked: balance(search.find(float(asked[0]), self.name), float(asked[1]))[1]

    def steer(self, trace: CoarseTrace, full: Full) -> CoarseTrace:
        """Give the levels that steer the compressor: the same, as long as the side-chain is."""
        return trace

    def _solve_reference(self, loop: Clip, full: Full, trace: CoarseTrace, hits: Flags) -> Full:
        """Find the reference's threshold."""

        def begin_below_peak(depth_db: float) -> Full:
            return full | {"threshold_dbfs": max(-120.0, trace.peak_dbfs - depth_db + full["knee_db"] / 2)}

        def ask(asked: Reading) -> Full:
            def effect(depth_db: float) -> float:
                return _at_hits(trace.reduce(read_compression(begin_below_peak(depth_db))), hits)

            return begin_below_peak(find_first(effect, float(asked[0]), DEPTHS_DB, self.name))

        def read(tried: Full) -> tuple[float]:
            return (_read_at_hits(loop, self.render(loop, tried), hits),)

        solved = put_right(ask, read, (full[self.equal],), self.name)
        return solved | {"reference_threshold_dbfs": solved["threshold_dbfs"]}

    def _refer_settings(self, full: Full) -> Full:
        return full | {self.varied: self.read_reference(full), "threshold_dbfs": full["reference_threshold_dbfs"]}

    def _compress(self, loop: Clip, full: Settings) -> Clip:
        compression = read_compression(full)
        return run_round(lambda: CompressorProcessor(compression, loop.rate_hz), loop, count_run_up(compression, loop))


def _read_at_hits(loop: Clip, after: Clip, hits: Flags) -> float:
    return _at_hits(measure_reduction(loop.samples, after.samples, loop.rate_hz, 1.0), hits)


def _at_hits(reduction: Reduction, hits: Flags) -> float:
    value = measure_at_hits(reduction, hits)
    return float(np.nan if value is None else value)
