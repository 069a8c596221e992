"""The compressor as moves: one engine, asked by different effects."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.coarse_trace import CoarseTrace
from trainer.dsp.dynamics.compression import count_run_up, forget_s
from trainer.dsp.dynamics.compressor_needs import need_beat, need_gaps, need_hits
from trainer.dsp.dynamics.compressor_processor import CompressorProcessor
from trainer.dsp.dynamics.compressor_settings import PARAMETERS, read_compression, set_defaults
from trainer.dsp.dynamics.solving import Reading, check_amount, find_first, put_right, refuse_silence
from trainer.dsp.move import Curve, Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings
from trainer.dsp.processor import Processor, run_round
from trainer.measure.beat import Flags, find_strokes, measure_movement
from trainer.measure.compression import measure_compression, refuse_short
from trainer.measure.contents import StretchContents
from trainer.measure.reduction import Reduction, measure_reduction
from trainer.units import db_to_gain, write_number

# How far the knee may begin below the highest peak, dB.
DEPTHS_DB = tuple(float(depth) for depth in range(0, 73, 3))
# For no reduction at all it begins so far above.
ABOVE_PEAK_DB = 6.0
LEAST_AMOUNT_DB = 1e-3

AMOUNTS: dict[str, Callable[[Reduction, Flags], float]] = {
    "reduction_on_hits_db": lambda reduction, beats: reduction.on_hits_db,
    "reduction_mean_db": lambda reduction, beats: reduction.mean_db,
    "swing_at_beat_db": lambda reduction, beats: measure_movement(reduction, beats).swing_db,
}


@dataclass(frozen=True)
class Compressor(PlainMove):
    """Turn down what is above a threshold; asked by the reduction on the loudest hits."""

    name: str = "compressor"
    title: str = "Bus compressor"
    unit: str = "dB"
    effect_name: str = "reduction_on_hits_db"
    parameters: tuple[Parameter, ...] = PARAMETERS

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the threshold at which the rendered loop shows the effect; for 0 dB, nothing is reduced."""
        full = complete_settings(self, settings)
        check_amount(self.name, amount)
        refuse_short(loop.samples, loop.rate_hz)
        trace = CoarseTrace(loop, read_compression(full))
        refuse_silence(self.name, trace.peak_dbfs)
        if amount < LEAST_AMOUNT_DB:
            return complete_settings(self, _begin_below_peak(full, trace, -ABOVE_PEAK_DB))
        amount_of, beats = AMOUNTS[self.effect_name], find_strokes(loop.samples, loop.rate_hz).beats

        def ask(asked: Reading) -> dict[str, float]:
            def effect(depth_db: float) -> float:
                tried = read_compression(_begin_below_peak(full, trace, depth_db))
                return amount_of(trace.reduce(tried), beats)

            return _begin_below_peak(full, trace, find_first(effect, float(asked[0]), DEPTHS_DB, self.name))

        def read(tried: dict[str, float]) -> tuple[float]:
            after = self.render(loop, tried)
            return (amount_of(measure_reduction(loop.samples, after.samples, loop.rate_hz, 1.0), beats),)

        return complete_settings(self, put_right(ask, read, (amount,), self.name))

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence."""
        return CompressorProcessor(read_compression(complete_settings(self, settings)), rate_hz)

    def run_up_s(self, settings: Settings) -> float:
        """Forget after twelve time constants."""
        return forget_s(read_compression(complete_settings(self, settings)))

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Compress the loop in steady state; below the knee it stays as it is, bit for bit."""
        compression = read_compression(complete_settings(self, settings))
        return run_round(lambda: CompressorProcessor(compression, loop.rate_hz), loop, count_run_up(compression, loop))

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Divide output by input in steps of a millisecond, and look at the beats, the drums and the bass."""
        complete_settings(self, settings)
        resting = db_to_gain(level_gain_db)
        reading = measure_compression(before.samples, after.samples, before.rate_hz, resting)
        amount = reading.quantities[self.effect_name]
        ordered = {self.effect_name: amount, **reading.quantities}
        return Effect(amount, ordered, Picture("reduction", draw_reduction(reading.reduction)), self.describe(ordered))

    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say in a sentence or two what the sound shows."""
        hits, mean = measured["reduction_on_hits_db"], measured["reduction_mean_db"]
        first = (
            f"The loudest hits are turned down by {write_number(hits)} dB, on average it is {write_number(mean)} dB."
        )
        if "snare_over_song_after_db" not in measured:
            return (first,)
        lost = measured["snare_over_song_before_db"] - measured["snare_over_song_after_db"]
        word = "less" if lost >= 0 else "more"
        return (first, f"The snare stands {write_number(abs(lost))} dB {word} above the song.")

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for drums that stand out."""
        return need_hits(contents)


@dataclass(frozen=True)
class CompressorOnAverage(Compressor):
    """The same, asked by the mean reduction."""

    name: str = "compressor_on_average"
    title: str = "Bus compressor, by its mean reduction"
    effect_name: str = "reduction_mean_db"


@dataclass(frozen=True)
class HeldDown(Compressor):
    """A release so slow that the gain never comes back; asked by the mean reduction."""

    name: str = "held_down"
    title: str = "Held down"
    effect_name: str = "reduction_mean_db"
    parameters: tuple[Parameter, ...] = set_defaults(release_ms=3000.0, attack_ms=5.0)

    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say how far it is held down, and how little comes back."""
        held = f"The song is held down by {write_number(measured['reduction_mean_db'])} dB on average."
        return (held, _describe_return(measured))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for drums that stand out and sound between them."""
        return (*need_hits(contents), *need_gaps(contents))


@dataclass(frozen=True)
class Pumping(Compressor):
    """A medium release on a strong beat; asked by the swing of the gain at the beat, peak to trough."""

    name: str = "pumping"
    title: str = "Pumping"
    effect_name: str = "swing_at_beat_db"
    parameters: tuple[Parameter, ...] = set_defaults(attack_ms=3.0, release_ms=100.0, ratio_to_1=20.0, knee_db=3.0)

    def describe(self, measured: dict[str, float]) -> tuple[str, ...]:
        """Say how far the gain swings, and how much of it comes back."""
        swing = f"At each beat the gain swings by {write_number(measured['swing_at_beat_db'])} dB on average."
        return (swing, _describe_return(measured))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a steady beat with sound in the gaps, in which the return is heard."""
        return (*need_beat(contents), *need_gaps(contents))


def draw_reduction(reduction: Reduction) -> Curve:
    """Give the points of a picture, s and dB."""
    times = np.arange(reduction.reduction_db.size) * reduction.step_s
    return tuple(zip(times.tolist(), reduction.reduction_db.tolist(), strict=True))


def _begin_below_peak(full: dict[str, float], trace: CoarseTrace, depth_db: float) -> dict[str, float]:
    """Put the threshold where the knee begins so far below the highest peak."""
    return full | {"threshold_dbfs": max(-120.0, trace.peak_dbfs - depth_db + full["knee_db"] / 2)}


def _describe_return(measured: dict[str, float]) -> str:
    if "recovery_between_hits_percent" not in measured:
        return "There is next to no reduction."
    return f"{write_number(measured['recovery_between_hits_percent'], 0)} % of the gain is back before the next hit."
