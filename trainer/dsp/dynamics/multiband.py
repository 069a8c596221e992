"""The multiband compressor as a move: asked by the reduction in one band."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.loops import extend_loop
from trainer.dsp.dynamics.band_processors import MultibandProcessor
from trainer.dsp.dynamics.coarse_trace import CoarseTrace
from trainer.dsp.dynamics.compression import Compression, count_run_up, forget_s
from trainer.dsp.dynamics.compressor import DEPTHS_DB, LEAST_AMOUNT_DB, draw_reduction
from trainer.dsp.dynamics.compressor_needs import LEAST_KICKS_PER_S, LEAST_SNARES_PER_S
from trainer.dsp.dynamics.compressor_processor import GainRider, make_gain
from trainer.dsp.dynamics.compressor_settings import PARAMETERS, read_compression, set_defaults
from trainer.dsp.dynamics.crossover import BandSplitter, count_half_frames
from trainer.dsp.dynamics.solving import Reading, check_amount, find_first, put_right, refuse_silence
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings
from trainer.dsp.processor import Processor, Rows, run_round
from trainer.errors import BadValue
from trainer.measure.band_reduction import choose_step_s, measure_band_reduction
from trainer.measure.compression import refuse_short
from trainer.measure.contents import Band, StretchContents
from trainer.measure.reduction import measure_on_hits
from trainer.units import begin_large, db_to_gain, write_frequency, write_number

CORNERS = ("low_crossover_hz", "middle_crossover_hz", "high_crossover_hz")
THRESHOLDS = ("low_threshold_dbfs", "low_mid_threshold_dbfs", "high_mid_threshold_dbfs", "high_threshold_dbfs")
# A band with this threshold has no compressor.
NONE_DBFS = 60.0
HIGHEST_CORNER = 0.45
LEAST_IN_BAND_DB = -24.0
_SHARED = {"ratio_to_1", "knee_db", "attack_ms", "release_ms"}


@dataclass(frozen=True)
class Multiband(PlainMove):
    """Compress four bands apart from each other; one of them is asked for."""

    name: str = "multiband"
    title: str = "Multiband compressor"
    unit: str = "dB"
    effect_name: str = "reduction_in_band_db"
    parameters: tuple[Parameter, ...] = (
        Parameter(CORNERS[0], "Hz", 40.0, 300.0, 120.0),
        Parameter(CORNERS[1], "Hz", 400.0, 2000.0, 800.0),
        Parameter(CORNERS[2], "Hz", 2500.0, 12000.0, 5000.0),
        Parameter("band_number", "number", 1.0, 4.0, 3.0, (1.0, 2.0, 3.0, 4.0)),
        *(Parameter(name, "dBFS", -120.0, NONE_DBFS, NONE_DBFS) for name in THRESHOLDS),
        *(p for p in set_defaults(PARAMETERS, release_ms=120.0) if p.name in _SHARED),
    )

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the band's threshold; for 0 dB its compressor is left out."""
        full = complete_settings(self, settings)
        check_amount(self.name, amount)
        refuse_short(loop.samples, loop.rate_hz)
        number = round(full["band_number"]) - 1
        name, band = THRESHOLDS[number], _band(full)
        alone = run_round(lambda: _OneBand(_corners(full, loop.rate_hz), number, loop.rate_hz), loop, loop.rate_hz)
        trace = CoarseTrace(alone, _compression(full, 0.0))
        refuse_silence(self.name, trace.peak_dbfs)
        if amount < LEAST_AMOUNT_DB:
            return complete_settings(self, full | {name: NONE_DBFS})
        width = max(1, round(choose_step_s(band) * loop.rate_hz / trace.step_frames))

        def set_depth(depth_db: float) -> dict[str, float]:
            level = trace.peak_dbfs - depth_db + full["knee_db"] / 2
            # At 60 dBFS the band would have no compressor at all.
            return full | {name: min(max(-120.0, level), NONE_DBFS - 1.0)}

        def effect(depth_db: float) -> float:
            read = trace.reduce(_compression(full, set_depth(depth_db)[name]))
            steps = read.reduction_db[: read.reduction_db.size // width * width].reshape(-1, width).mean(axis=1)
            return measure_on_hits(steps, read.step_s * width)

        def ask(asked: Reading) -> dict[str, float]:
            return set_depth(find_first(effect, float(asked[0]), DEPTHS_DB, self.name))

        rest = self.render(loop, full | {name: NONE_DBFS}).samples
        run_up = count_run_up(_compression(full, 0.0), loop)
        steering = np.ascontiguousarray(extend_loop(alone.samples, run_up, 0).T, dtype=np.float64)

        def read(tried: dict[str, float]) -> tuple[float]:
            # As `render` does it, but for the crossovers, whose output stays the same.
            gain = make_gain(GainRider(_compression(full, tried[name]), loop.rate_hz).ride(steering))[run_up:]
            after = rest + (gain[:, None] - 1.0) * alone.samples
            return (measure_band_reduction(loop.samples, after, loop.rate_hz, band).on_hits_db,)

        return complete_settings(self, put_right(ask, read, (amount,), self.name))

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence."""
        full = complete_settings(self, settings)
        bands = tuple(None if full[name] >= NONE_DBFS else _compression(full, full[name]) for name in THRESHOLDS)
        return MultibandProcessor(_corners(full, rate_hz), bands, rate_hz)

    def run_up_s(self, settings: Settings) -> float:
        """Forget after twelve time constants, and the lowest crossover."""
        full = complete_settings(self, settings)
        return forget_s(_compression(full, 0.0)) + 2 * count_half_frames(full[CORNERS[0]], 1000) / 1000

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Compress the loop in steady state; below all knees it stays as it is, bit for bit."""
        full = complete_settings(self, settings)
        run_up = count_run_up(_compression(full, 0.0), loop) + 2 * count_half_frames(full[CORNERS[0]], loop.rate_hz)
        return run_round(lambda: self.begin(full, loop.rate_hz), loop, run_up)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Divide output by input in the band between its crossovers."""
        full = complete_settings(self, settings)
        refuse_short(before.samples, before.rate_hz)
        band = _band(full)
        reduction = measure_band_reduction(
            before.samples, after.samples, before.rate_hz, band, db_to_gain(level_gain_db)
        )
        measured = {
            "reduction_in_band_db": reduction.on_hits_db,
            "reduction_in_band_mean_db": reduction.mean_db,
            "reduction_in_band_95th_percentile_db": reduction.percentile_95_db,
        }
        picture = Picture("reduction", draw_reduction(reduction))
        return Effect(reduction.on_hits_db, measured, picture, (_describe(band, measured),))

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level of the band."""
        return (_band(complete_settings(self, settings)),)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a part in the band that comes and goes."""
        full = complete_settings(self, settings)
        level = Need(
            "level_in_band_db",
            contents.band_db[_band(full)],
            LEAST_IN_BAND_DB,
            f"{write_number(LEAST_IN_BAND_DB, 0)} or more: sound {_name_band(_band(full))}",
        )
        if full["band_number"] == 1:
            least, low = LEAST_KICKS_PER_S, contents.kicks_per_s
            return (level, Need("kicks_per_s", low, least, f"{least:g} low hits a second or more"))
        least, bright = LEAST_SNARES_PER_S, contents.hits_per_s
        return (level, Need("hits_per_s", bright, least, f"{least:g} drum hits a second or more"))


class _OneBand:
    """Give one band of the sound."""

    def __init__(self, corners_hz: tuple[float, ...], number: int, rate_hz: int) -> None:
        self._splitter = BandSplitter(corners_hz, rate_hz, (number,))
        self.latency_frames = self._splitter.latency_frames

    def process(self, block: Rows) -> Rows:
        return np.asarray(self._splitter.split(block)[1][0])


def _compression(full: Settings, threshold_dbfs: float) -> Compression:
    return read_compression({**full, "threshold_dbfs": threshold_dbfs})


def _corners(full: Settings, rate_hz: int) -> tuple[float, ...]:
    corners = tuple(full[name] for name in CORNERS)
    if corners[-1] > HIGHEST_CORNER * rate_hz:
        raise BadValue("multiband", CORNERS[-1], f"{corners[-1]:g}", f"at most {HIGHEST_CORNER * rate_hz:g} Hz here")
    return corners


def _band(full: Settings) -> Band:
    """Give the edges of the band that is asked for."""
    edges = (0.0, *(full[name] for name in CORNERS), math.inf)
    number = round(full["band_number"])
    return (edges[number - 1], edges[number])


def _name_band(band: Band) -> str:
    low, high = band
    if low == 0:
        return f"below {write_frequency(high)}"
    return (
        f"above {write_frequency(low)}"
        if high == math.inf
        else (f"between {write_frequency(low)} and {write_frequency(high)}")
    )


def _describe(band: Band, measured: dict[str, float]) -> str:
    where = _name_band(band)
    return (
        f"{begin_large(where)} the loudest moments are turned down by "
        f"{write_number(measured['reduction_in_band_db'])} dB, on average it is "
        f"{write_number(measured['reduction_in_band_mean_db'])} dB."
    )
