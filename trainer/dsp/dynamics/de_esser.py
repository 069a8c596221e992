"""The de-esser as a move: a bell that follows the s sounds, asked by the reduction on them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.band_processors import DynamicBellProcessor, design_band_pass
from trainer.dsp.dynamics.coarse_trace import CoarseTrace
from trainer.dsp.dynamics.compression import count_run_up, forget_s
from trainer.dsp.dynamics.compressor import ABOVE_PEAK_DB, DEPTHS_DB, LEAST_AMOUNT_DB, draw_reduction
from trainer.dsp.dynamics.compressor_settings import PARAMETERS, read_compression, set_defaults
from trainer.dsp.dynamics.solving import Reading, check_amount, find_first, put_right, refuse_silence
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings
from trainer.dsp.processor import Processor, SectionFilter, run_round
from trainer.errors import BadValue, NotReachable
from trainer.measure.band_reduction import measure_band_reduction
from trainer.measure.beat import Flags, measure_at_hits
from trainer.measure.compression import refuse_short
from trainer.measure.contents import Band, StretchContents
from trainer.measure.hits import find_sibilants
from trainer.measure.reduction import Reduction
from trainer.units import db_to_gain, write_number

# From 5 to 9 kHz about the default centre.
EDGE_RATIO = float(np.sqrt(9 / 5))
Q = 1 / (EDGE_RATIO - 1 / EDGE_RATIO)
FILTER_S = 0.05
HIGHEST_CENTRE = 0.4
LEAST_SIBILANTS_PER_S = 0.3
_SHARED = {"threshold_dbfs", "ratio_to_1", "knee_db", "attack_ms", "release_ms"}


@dataclass(frozen=True)
class DeEsser(PlainMove):
    """Turn the s down while it sounds."""

    name: str = "de_esser"
    title: str = "De-esser"
    unit: str = "dB"
    effect_name: str = "reduction_on_sibilants_db"
    parameters: tuple[Parameter, ...] = (
        Parameter("centre_hz", "Hz", 4000.0, 10000.0, 6700.0),
        *(p for p in set_defaults(PARAMETERS, attack_ms=1.0, release_ms=60.0) if p.name in _SHARED),
    )

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the threshold at which the s sounds are turned down by ``amount`` dB; for 0 dB, nothing is."""
        full = complete_settings(self, settings)
        check_amount(self.name, amount)
        refuse_short(loop.samples, loop.rate_hz)
        band = run_round(lambda: SectionFilter(_design(full, loop.rate_hz)), loop, int(FILTER_S * loop.rate_hz))
        trace = CoarseTrace(band, read_compression(full))
        refuse_silence(self.name, trace.peak_dbfs)
        if amount < LEAST_AMOUNT_DB:
            return complete_settings(self, _set_depth(full, trace, -ABOVE_PEAK_DB))
        sibilants = find_sibilants(loop.samples, loop.rate_hz)
        if not sibilants.any():
            raise NotReachable(f"{self.name}: sibilants=0, expected s sounds on this excerpt")

        def ask(asked: Reading) -> dict[str, float]:
            def effect(depth_db: float) -> float:
                return _at(trace.reduce(read_compression(_set_depth(full, trace, depth_db))), sibilants)

            return _set_depth(full, trace, find_first(effect, float(asked[0]), DEPTHS_DB, self.name))

        def read(tried: dict[str, float]) -> tuple[float]:
            after = self.render(loop, tried)
            edges = _band(full)
            return (_at(measure_band_reduction(loop.samples, after.samples, loop.rate_hz, edges), sibilants),)

        return complete_settings(self, put_right(ask, read, (amount,), self.name))

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence."""
        full = complete_settings(self, settings)
        _design(full, rate_hz)
        return DynamicBellProcessor(full["centre_hz"], Q, read_compression(full), rate_hz)

    def run_up_s(self, settings: Settings) -> float:
        """Forget after twelve time constants and the filter's own."""
        return forget_s(read_compression(complete_settings(self, settings))) + FILTER_S

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Process the loop in steady state; below the knee it stays as it is, bit for bit."""
        full = complete_settings(self, settings)
        run_up = count_run_up(read_compression(full), loop) + int(FILTER_S * loop.rate_hz)
        return run_round(lambda: self.begin(full, loop.rate_hz), loop, run_up)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Divide output by input in the band of the s, at the s sounds and on average."""
        full = complete_settings(self, settings)
        refuse_short(before.samples, before.rate_hz)
        resting = db_to_gain(level_gain_db)
        reduction = measure_band_reduction(before.samples, after.samples, before.rate_hz, _band(full), resting)
        sibilants = find_sibilants(before.samples, before.rate_hz)
        amount = _at(reduction, sibilants)
        measured = {
            "reduction_on_sibilants_db": amount,
            "reduction_in_band_mean_db": reduction.mean_db,
            "reduction_in_band_95th_percentile_db": reduction.percentile_95_db,
        }
        sentence = (
            f"Each s is turned down by {write_number(amount)} dB; the same range on average by "
            f"{write_number(reduction.mean_db)} dB."
        )
        return Effect(amount, measured, Picture("reduction", draw_reduction(reduction)), (sentence,))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for s sounds."""
        least = LEAST_SIBILANTS_PER_S
        return (Need("sibilants_per_s", contents.sibilants_per_s, least, f"{least:g} s sounds a second or more"),)


def _design(full: Settings, rate_hz: int) -> np.ndarray:
    if full["centre_hz"] > HIGHEST_CENTRE * rate_hz:
        expected = f"at most {HIGHEST_CENTRE * rate_hz:g} Hz at this rate"
        raise BadValue("de_esser", "centre_hz", f"{full['centre_hz']:g}", expected)
    return design_band_pass(full["centre_hz"], Q, rate_hz)


def _band(full: Settings) -> Band:
    return (full["centre_hz"] / EDGE_RATIO, full["centre_hz"] * EDGE_RATIO)


def _set_depth(full: dict[str, float], trace: CoarseTrace, depth_db: float) -> dict[str, float]:
    return full | {"threshold_dbfs": max(-120.0, trace.peak_dbfs - depth_db + full["knee_db"] / 2)}


def _at(reduction: Reduction, sibilants: Flags) -> float:
    value = measure_at_hits(reduction, sibilants)
    if value is None:
        raise BadValue("de_esser", "sibilants", 0, "s sounds")
    return value
