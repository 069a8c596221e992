"""Saturation as a move: asked by what it adds to the song, read back from the sound."""

from __future__ import annotations

import math
from dataclasses import dataclass

import scipy

from trainer.audio.clip import Clip
from trainer.dsp.colour.added import Added, AddedMeter
from trainer.dsp.colour.asking import find_growing, refuse_amount
from trainer.dsp.colour.bend import Bend, find_bend
from trainer.dsp.colour.harmonics import render_sine_overtones
from trainer.dsp.colour.oversampling import Beside, begin_added
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings, render_round
from trainer.dsp.processor import Chain, Delay, Processor, SectionFilter
from trainer.errors import NotReachable
from trainer.measure.contents import StretchContents
from trainer.units import db_to_gain, write_amount, write_frequency, write_number

SINE_HZ = 997.0
OVERSAMPLING = 4
# A bend that is not the same on both halves leaves a constant; only what was added is freed from it.
STEADY_HZ = 2.0
RUN_UP_S = 1.5
LEAST_THD_PERCENT = 1e-3
CLOSE = 2e-3
LEAST_HELD_SHARE = 0.2


@dataclass(frozen=True)
class Saturation(PlainMove):
    """Bend the wave: overtones, sums and differences of notes, rounder peaks."""

    name: str = "saturation"
    title: str = "Saturation"
    unit: str = "percent"
    effect_name: str = "added_percent"
    band_limited: bool = True
    parameters: tuple[Parameter, ...] = (
        Parameter("thd_percent", "percent", 0.0, 40.0, 0.0),
        Parameter("even_share_percent", "percent", 0.0, 95.0, 0.0),
        Parameter("level_dbfs", "dBFS", -40.0, 0.0, -12.0),
    )

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the distortion of the sine at which the added part is ``amount`` percent of the song."""
        full = complete_settings(self, settings)
        refuse_amount(self.name, amount, self.unit)
        if amount == 0:
            return {**full, "thd_percent": 0.0}
        meter, high = AddedMeter(loop), self.parameters[0].high

        def add(thd_percent: float) -> float:
            return meter.measure(self.render(loop, {**full, "thd_percent": thd_percent})).percent

        thd, got = find_growing(add, amount, LEAST_THD_PERCENT, high, amount, CLOSE)
        if abs(got / amount - 1) > 2 * CLOSE:
            raise NotReachable(f"saturation: amount={amount:g}, expected at most {got:.3g} percent on this excerpt")
        return {**full, "thd_percent": thd}

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence; the sound should hold nothing above 21 kHz, see `trainer.dsp.band_limit`."""
        full = complete_settings(self, settings)
        if full["thd_percent"] == 0:
            return Delay(0)
        return begin_bend(choose_bend(full), rate_hz)

    def run_up_s(self, settings: Settings) -> float:
        """Forget a constant after more than ten times the time constant of what removes it."""
        return RUN_UP_S

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Bend the loop in steady state; a distortion of 0 % gives the loop itself."""
        full = complete_settings(self, settings)
        return loop if full["thd_percent"] == 0 else render_round(self, loop, full)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Take out what a filter could have done; and read harmonics from a sine sent through the same settings."""
        full = complete_settings(self, settings)
        meter = AddedMeter(before)
        added = meter.measure(after)
        level = full["level_dbfs"]
        sine = render_sine_overtones(lambda loop: self.render(loop, full), SINE_HZ, level, before.rate_hz)
        measured = describe_added(added) | {
            "thd_percent": 100 * sine.thd,
            "even_share_percent": 100 * sine.even_share,
        }
        harmonics = (
            f"A sine of 997 Hz at {write_number(level, 0)} dBFS gets {write_amount(100 * sine.thd)} % of harmonics, "
            f"{write_number(100 * sine.even_share, 0)} % of their power even."
        )
        return Effect(added.percent, measured, Picture("level", meter.trace(after)), (*tell_added(added), harmonics))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for held notes, on which overtones are heard."""
        expected = f"{LEAST_HELD_SHARE:g} or more: notes or chords that are held"
        return (Need("held_share", contents.held_share, LEAST_HELD_SHARE, expected),)


def choose_bend(full: Settings) -> Bend:
    """Find the bend for complete settings, whose distortion is above 0."""
    thd = max(full["thd_percent"], LEAST_THD_PERCENT) / 100
    return find_bend(thd, full["even_share_percent"] / 100, db_to_gain(full["level_dbfs"]))


def begin_bend(bend: Bend, rate_hz: int) -> Processor:
    """Begin a bend at four times the rate, without a constant."""
    steady = SectionFilter(scipy.signal.butter(1, STEADY_HZ, "highpass", fs=rate_hz, output="sos"))
    return Beside(Chain((begin_added(bend.write_added, OVERSAMPLING, rate_hz), steady)))


def describe_added(added: Added) -> dict[str, float]:
    """List what was added; its level only where there is any."""
    if not added.percent > 0:
        return {"added_percent": 0.0}
    return {
        "added_percent": added.percent,
        "added_db": added.below_song_db,
        "added_main_octave_hz": added.main_octave_hz,
    }


def tell_added(added: Added) -> tuple[str, ...]:
    """Say how far below the song the added part lies, and where most of it is."""
    if not added.percent > 0 or not math.isfinite(added.below_song_db):
        return ("Nothing was added.",)
    below, where = write_number(-added.below_song_db), write_frequency(added.main_octave_hz)
    return (f"What was added lies {below} dB below the song, most of it in the octave about {where}.",)
