"""The limiter as a move: asked by the reduction on the loudest hits, read back from the sound."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.audio.loops import extend_loop
from trainer.dsp.dynamics.ceiling import begin_ceiling
from trainer.dsp.dynamics.limiting import GUARD_DB, STEP_FRAMES, GainRider, Timing, follow_envelope_db, shape_reduction
from trainer.dsp.dynamics.limiting_effect import measure_limiting, tell_hits
from trainer.dsp.move import Effect, Need, Parameter, PlainMove, Settings, complete_settings
from trainer.dsp.needs import need_loud_part
from trainer.dsp.processor import Chain, Processor, run_round
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import StretchContents
from trainer.measure.reduction import STEP_S, measure_on_hits
from trainer.units import db_to_gain, write_number

# So many times the slowest release, so that the loop begins as it goes on.
RUN_UP_RELEASES = 8.0
RUN_OUT_S = 0.1
MOST_DRIVE_DB = 24.0
LEAST_AMOUNT_DB = 1e-3
SOFTEST_PEAK_DB = -80.0
LEAST_PEAK_OVER_RMS_DB = 9.0
LEAST_HITS_PER_S = 0.7


@dataclass(frozen=True)
class Limiter(PlainMove):
    """Drive the song into a ceiling that its true peaks never pass."""

    name: str = "limiter"
    title: str = "Limiter"
    unit: str = "dB"
    effect_name: str = "reduction_on_hits_db"
    parameters: tuple[Parameter, ...] = (
        Parameter("drive_db", "dB", -60.0, 90.0, 0.0),
        Parameter("ceiling_dbtp", "dBTP", -12.0, 0.0, -1.0),
        Parameter("release_ms", "ms", 5.0, 1000.0, 60.0),
        Parameter("slow_release_ms", "ms", 50.0, 1300.0, 600.0),
    )
    band_limited: bool = True
    holds_ceiling: bool = True

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the drive at which the loudest hits are turned down by ``amount`` dB; for 0 dB, none is."""
        full = complete_settings(self, settings)
        if not (math.isfinite(amount) and amount >= 0):
            raise BadValue("limiter", "amount", f"{amount:g}", "0 dB or more")
        envelope = follow_envelope_db(_extend(loop, full), loop.rate_hz)
        if envelope.max() < SOFTEST_PEAK_DB:
            expected = f"sound with peaks above {SOFTEST_PEAK_DB:g} dBFS"
            raise BadValue("limiter", "peak_dbfs", f"{envelope.max():.0f}", expected)
        begins = full["ceiling_dbtp"] - float(envelope.max()) - GUARD_DB
        if amount < LEAST_AMOUNT_DB:
            return complete_settings(self, {**full, "drive_db": min(0.0, begins)})

        def miss(drive_db: float) -> float:
            return _on_hits(envelope + drive_db, full, loop) - amount

        most = miss(begins + MOST_DRIVE_DB) + amount
        if most < amount:
            raise NotReachable(f"limiter: amount={amount:g}, expected at most {most:.1f} dB on this excerpt")
        drive = float(scipy.optimize.brentq(miss, begins - GUARD_DB, begins + MOST_DRIVE_DB, xtol=1e-4))
        return complete_settings(self, {**full, "drive_db": drive})

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence; the sound must hold nothing above 21 kHz, see `trainer.dsp.band_limit`."""
        full = complete_settings(self, settings)
        rider = GainRider(db_to_gain(full["drive_db"]), full["ceiling_dbtp"], _timing(full), rate_hz)
        return Chain((rider, begin_ceiling(rate_hz, full["ceiling_dbtp"])))

    def run_up_s(self, settings: Settings) -> float:
        """Give the slower release the time to settle, in whole steps as the solver does."""
        full = complete_settings(self, settings)
        return RUN_UP_RELEASES * max(full["release_ms"], full["slow_release_ms"]) / 1000

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Limit the loop in steady state; where nothing is above the ceiling only the drive is heard."""
        full = complete_settings(self, settings)
        return run_round(lambda: self.begin(full, loop.rate_hz), loop, _run_up_frames(loop.rate_hz, full))

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Divide output by input in steps of a millisecond, and compare the hits with the song."""
        full = complete_settings(self, settings)
        resting = db_to_gain(full["drive_db"] + level_gain_db)
        effect = measure_limiting(before, after, resting)
        measured = effect.measured
        return Effect(measured["reduction_on_hits_db"], measured, effect.picture, _describe(measured))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for drum hits that stand out, in one of the loudest parts."""
        return (
            need_loud_part(contents),
            Need(
                "hits_per_s",
                contents.hits_per_s,
                LEAST_HITS_PER_S,
                f"{LEAST_HITS_PER_S:g} drum hits a second or more",
            ),
            Need(
                "peak_over_rms_db",
                contents.peak_over_rms_db,
                LEAST_PEAK_OVER_RMS_DB,
                f"{LEAST_PEAK_OVER_RMS_DB:g} dB or more: peaks that a limiter can take",
            ),
        )


def _run_up_frames(rate_hz: int, full: Settings) -> int:
    """Run-up in frames, whole steps, so that solver and rendering cut the sound alike."""
    slowest_s = max(full["release_ms"], full["slow_release_ms"]) / 1000
    return int(RUN_UP_RELEASES * slowest_s * rate_hz) // STEP_FRAMES * STEP_FRAMES


def _extend(loop: Clip, full: Settings) -> npt.NDArray[np.floating]:
    return extend_loop(loop.samples, _run_up_frames(loop.rate_hz, full), int(RUN_OUT_S * loop.rate_hz))


def _timing(full: Settings) -> Timing:
    return Timing(full["release_ms"] / 1000, full["slow_release_ms"] / 1000)


def _on_hits(envelope_db: npt.NDArray[np.float64], full: Settings, loop: Clip) -> float:
    """Reduction on the loudest hits that an envelope leads to, averaged as it will be read from the sound."""
    reduction = shape_reduction(envelope_db, full["ceiling_dbtp"], _timing(full), loop.rate_hz)
    first = _run_up_frames(loop.rate_hz, full) // STEP_FRAMES
    gain = 10 ** (-reduction[first : first + loop.frames // STEP_FRAMES] / 20)
    width = max(1, int(round(STEP_S * loop.rate_hz / STEP_FRAMES)))
    steps = gain[: gain.size // width * width].reshape(-1, width).mean(axis=1)
    return measure_on_hits(-20 * np.log10(steps), width * STEP_FRAMES / loop.rate_hz)


def _describe(measured: dict[str, float]) -> tuple[str, ...]:
    """Say in a sentence or two what the sound shows."""
    turned = f"The loudest hits are turned down by {write_number(measured['reduction_on_hits_db'])} dB."
    return (turned, *tell_hits(measured, "They stand"))
