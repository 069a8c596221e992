"""Overtones of the top as a move: asked by what is added to the song, read back from the sound."""

from __future__ import annotations

from dataclasses import dataclass

import scipy

from trainer.audio.clip import Clip
from trainer.dsp.colour.added import AddedMeter
from trainer.dsp.colour.asking import find_growing, refuse_amount
from trainer.dsp.colour.harmonics import render_sine_overtones
from trainer.dsp.colour.oversampling import Beside, begin_added
from trainer.dsp.colour.saturation import OVERSAMPLING, choose_bend, describe_added, tell_added
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings, render_round
from trainer.dsp.processor import Chain, Delay, Processor, SectionFilter
from trainer.errors import NotReachable
from trainer.measure.contents import Band, StretchContents
from trainer.units import write_amount, write_frequency, write_number

# The highest corner allowed has its second harmonic at 16 kHz.
LOWEST_CORNER_HZ, HIGHEST_CORNER_HZ = 1000.0, 8000.0
# Two octaves are asked for sound: what is bent, and that there is a top for the overtones to join.
TOP_HZ = 16000.0
LEAST_ABOVE_CORNER_DB = -38.0
LEAST_TOP_DB = -75.0
SINE_OVER_CORNER = 1.2
RUN_UP_S = 0.25
LEAST_MIX_PERCENT = 1e-3
CLOSE = 2e-3


@dataclass(frozen=True)
class TopHarmonics(PlainMove):
    """Bend what lies above a corner and mix what that adds, and only that, in with the song."""

    name: str = "top_harmonics"
    title: str = "Top harmonics"
    unit: str = "percent"
    effect_name: str = "added_percent"
    band_limited: bool = True
    parameters: tuple[Parameter, ...] = (
        Parameter("corner_hz", "Hz", LOWEST_CORNER_HZ, HIGHEST_CORNER_HZ, 4000.0),
        Parameter("mix_percent", "percent", 0.0, 100000.0, 0.0),
        Parameter("thd_percent", "percent", 0.0, 40.0, 10.0),
        Parameter("even_share_percent", "percent", 0.0, 95.0, 70.0),
        Parameter("level_dbfs", "dBFS", -60.0, 0.0, -24.0),
    )

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the mix at which the added part is ``amount`` percent of the song."""
        full = complete_settings(self, settings)
        refuse_amount(self.name, amount, self.unit)
        if amount == 0:
            return {**full, "mix_percent": 0.0}
        meter, high = AddedMeter(loop), self.parameters[1].high
        whole = self.render(loop, {**full, "mix_percent": 100.0}).samples.astype(float) - loop.samples

        def add(mix_percent: float) -> float:
            return meter.measure(loop.with_samples(loop.samples + mix_percent / 100 * whole)).percent

        mix, got = find_growing(add, amount, LEAST_MIX_PERCENT, high, 100.0, CLOSE)
        if abs(got / amount - 1) > 2 * CLOSE:
            raise NotReachable(f"top harmonics: amount={amount:g}, expected at most {got:.3g} percent on this excerpt")
        return {**full, "mix_percent": mix}

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence; the sound should hold nothing above 21 kHz, see `trainer.dsp.band_limit`."""
        full = complete_settings(self, settings)
        if full["mix_percent"] == 0 or full["thd_percent"] == 0:
            return Delay(0)
        above = SectionFilter(scipy.signal.butter(4, full["corner_hz"], "highpass", fs=rate_hz, output="sos"))
        bent = begin_added(choose_bend(full).write_added, OVERSAMPLING, rate_hz)
        # Differences of tones fall below the corner, where nothing is to be added.
        still_above = SectionFilter(scipy.signal.butter(2, full["corner_hz"], "highpass", fs=rate_hz, output="sos"))
        return Beside(Chain((above, bent, still_above)), full["mix_percent"] / 100)

    def run_up_s(self, settings: Settings) -> float:
        """Forget after a quarter of a second, many times the filters' slowest time constant."""
        return RUN_UP_S

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Add overtones in steady state; a mix of 0 % gives the loop itself."""
        full = complete_settings(self, settings)
        if full["mix_percent"] == 0 or full["thd_percent"] == 0:
            return loop
        return render_round(self, loop, full)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Take out what a filter could have done; and read harmonics from a sine above the corner."""
        full = complete_settings(self, settings)
        meter = AddedMeter(before)
        added = meter.measure(after)
        sine_hz = float(round(SINE_OVER_CORNER * full["corner_hz"]))
        level = full["level_dbfs"]
        sine = render_sine_overtones(lambda loop: self.render(loop, full), sine_hz, level, before.rate_hz)
        measured = describe_added(added) | {
            "thd_percent": 100 * sine.thd,
            "even_share_percent": 100 * sine.even_share,
            "sine_hz": sine_hz,
        }
        told = (
            f"A sine of {write_frequency(sine_hz)} at {write_number(level, 0)} dBFS gets "
            f"{write_amount(100 * sine.thd)} % of harmonics."
        )
        return Effect(added.percent, measured, Picture("level", meter.trace(after)), (*tell_added(added), told))

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the octave above the corner, and for the top."""
        corner = complete_settings(self, settings)["corner_hz"]
        return ((corner, 2 * corner), (TOP_HZ, 20000.0))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for sound just above the corner, and for a file that is not cut at 16 kHz."""
        source, top = self.bands_hz(settings)
        return (
            Need(
                "level_above_corner_db",
                contents.band_db[source],
                LEAST_ABOVE_CORNER_DB,
                f"{write_number(LEAST_ABOVE_CORNER_DB, 0)} or more: sound above {write_frequency(source[0])}",
            ),
            Need(
                "level_of_top_db",
                contents.band_db[top],
                LEAST_TOP_DB,
                f"{write_number(LEAST_TOP_DB, 0)} or more: a file that is not cut at {write_frequency(TOP_HZ)}",
            ),
        )
