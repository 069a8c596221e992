"""Clipping as a move, hard or soft: asked by what it takes off the highest peaks, read back from the sound."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.audio.clip import Clip
from trainer.dsp.colour.added import AddedMeter
from trainer.dsp.colour.asking import find_growing, refuse_amount
from trainer.dsp.colour.ceilings import BEND_BEGINS, SoftClip, begin_hard_clip
from trainer.dsp.colour.saturation import describe_added, tell_added
from trainer.dsp.colour.shaving import Shaving, ShavingMeter
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings, render_round
from trainer.dsp.needs import need_loud_part
from trainer.dsp.processor import Processor
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import StretchContents
from trainer.units import db_to_gain, write_number

SOFTEST_PEAK = 1e-4
# Above what any meter of ours reads between samples, so that nothing is touched where nothing is asked.
CLEAR_DB = 0.5
LEAST_OVER_DB, MOST_OVER_DB = 1e-3, 60.0
CLOSE = 1e-3
RUN_UP_S = 0.01
LEAST_PEAK_OVER_RMS_DB = 9.0


@dataclass(frozen=True)
class Clipping(PlainMove):
    """Shave what is above a level: with a hard corner, or softly, from 6 dB below it."""

    name: str
    title: str
    soft: bool
    unit: str = "dB"
    effect_name: str = "off_peaks_db"
    band_limited: bool = True
    parameters: tuple[Parameter, ...] = (Parameter("clip_point_dbfs", "dBFS", -90.0, 60.0, 0.0),)

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the clip point at which the highest peaks lose ``amount`` dB."""
        full = complete_settings(self, settings)
        refuse_amount(self.name, amount, self.unit)
        meter = ShavingMeter(loop)
        if meter.highest < SOFTEST_PEAK:
            raise BadValue(self.name, "peak", f"{meter.highest:.1e}", f"a peak of {SOFTEST_PEAK:g} or more")
        clear = 20 * math.log10(meter.highest) + self._clear_db
        if amount == 0:
            return complete_settings(self, {**full, "clip_point_dbfs": clear})

        peaks = meter.cut_peaks(loop)

        def take_off(over_db: float) -> float:
            return meter.measure_cut_db(self.render(peaks, {"clip_point_dbfs": clear - over_db}))

        most = min(MOST_OVER_DB, clear - self.parameters[0].low)
        over, got = find_growing(take_off, amount, LEAST_OVER_DB, most, amount + self._clear_db, CLOSE)
        if abs(got - amount) > 10 * CLOSE * max(amount, 0.1):
            raise NotReachable(f"{self.name}: amount={amount:g}, expected at most {got:.1f} dB on this excerpt")
        return complete_settings(self, {**full, "clip_point_dbfs": clear - over})

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence; the sound should hold nothing above 21 kHz, see `trainer.dsp.band_limit`."""
        clip_point_dbfs = complete_settings(self, settings)["clip_point_dbfs"]
        return SoftClip(clip_point_dbfs, rate_hz) if self.soft else begin_hard_clip(clip_point_dbfs, rate_hz)

    def run_up_s(self, settings: Settings) -> float:
        """Forget after the filters' length."""
        return RUN_UP_S

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Clip the loop; a sound that stays below is left as it is."""
        return render_round(self, loop, complete_settings(self, settings))

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Compare the highest peaks before and after, and find what was added."""
        complete_settings(self, settings)
        shaving = ShavingMeter(before).measure(after, db_to_gain(level_gain_db))
        added = AddedMeter(before).measure(after)
        measured = {
            "off_peaks_db": shaving.off_peaks_db,
            "shaved_share_percent": shaving.share_percent,
            "longest_run_samples": shaving.longest_run,
            "mean_run_samples": shaving.mean_run,
            **describe_added(added),
        }
        sentences = (_tell_shaving(shaving), *tell_added(added))
        return Effect(shaving.off_peaks_db, measured, Picture("reduction", shaving.curve), sentences)

    @property
    def _clear_db(self) -> float:
        """So far above the highest peak a clip point touches nothing, dB."""
        return CLEAR_DB - 20 * math.log10(BEND_BEGINS) if self.soft else CLEAR_DB

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for peaks that stand out, in one of the loudest parts."""
        return (
            need_loud_part(contents),
            Need(
                "peak_over_rms_db",
                contents.peak_over_rms_db,
                LEAST_PEAK_OVER_RMS_DB,
                f"{LEAST_PEAK_OVER_RMS_DB:g} dB or more: peaks that can be shaved",
            ),
        )


def _tell_shaving(shaving: Shaving) -> str:
    """Say how much the peaks lost and for how long."""
    if not shaving.longest_run:
        return "No peak was shaved."
    return (
        f"The highest peaks lose {write_number(shaving.off_peaks_db)} dB, in runs of "
        f"{write_number(shaving.mean_run, 0)} samples on average, {write_number(shaving.longest_run, 0)} at most."
    )
