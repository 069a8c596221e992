"""The bell as a move: asked by the gain at its centre, read back from the sound by fitting the curve."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from trainer.dsp.equaliser.bells import design_bell
from trainer.dsp.equaliser.filter_move import FilterMove, Reading
from trainer.dsp.equaliser.prototypes import Values, bell_gain
from trainer.dsp.move import Need, Parameter, Settings, complete_settings
from trainer.measure.contents import Band, StretchContents
from trainer.units import write_frequency, write_number

# Common practice, no source: music falls off towards the top, so less will do there. An octave about the centre must
# come within this of the whole up to 500 Hz, and within 3.5 dB less for each octave above.
LEAST_IN_OCTAVE_DB = -20.0
FALL_FROM_HZ = 500.0
FALL_DB = 3.5


@dataclass(frozen=True)
class Bell(FilterMove):
    """Lift or lower what lies about a centre."""

    name: str = "bell"
    title: str = "Bell"
    effect_name: str = "centre_gain_db"
    parameters: tuple[Parameter, ...] = (
        Parameter("centre_hz", "Hz", 30.0, 16000.0, 1000.0),
        Parameter("centre_gain_db", "dB", -12.0, 12.0, 0.0),
        Parameter("bell_q", "Q", 0.3, 6.0, 0.7),
    )

    def design(self, settings: Settings, rate_hz: int) -> Values:
        """Design one section."""
        return design_bell(settings["centre_hz"], settings["centre_gain_db"], settings["bell_q"], rate_hz)

    def give_gain(self, frequencies_hz: Values, settings: Settings) -> Values:
        """Give the Cookbook's curve."""
        return bell_gain(frequencies_hz, settings["centre_hz"], settings["centre_gain_db"], settings["bell_q"])

    def read(self, reading: Reading, settings: Settings) -> dict[str, float]:
        """Read the gain in the band at the centre, and the two places with half of it."""
        return {
            "gain_at_centre_db": reading.gain_at_db(settings["centre_hz"]),
            "half_gain_below_hz": reading.find_hz(reading.amount / 2, last=False),
            "half_gain_above_hz": reading.find_hz(reading.amount / 2),
        }

    def describe(self, measured: Mapping[str, float], settings: Settings) -> tuple[str, ...]:
        """Say how much there is, where, and how wide."""
        gain = write_number(measured["centre_gain_db"], 1, signed=True)
        words = f"{gain} dB at {write_frequency(settings['centre_hz'])}"
        low, high = measured.get("half_gain_below_hz"), measured.get("half_gain_above_hz")
        if low is not None and high is not None and low < high:
            words += f", half of it at {write_frequency(low)} and {write_frequency(high)}"
        return (words + ".",)

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level of the octave about the centre."""
        return (_octave(complete_settings(self, settings)["centre_hz"]),)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for real sound about the centre."""
        centre = complete_settings(self, settings)["centre_hz"]
        least = LEAST_IN_OCTAVE_DB - FALL_DB * max(0.0, math.log2(centre / FALL_FROM_HZ))
        expected = f"{write_number(least, 0)} or more: sound about {write_frequency(centre)} for a bell"
        return (Need("level_about_centre_db", contents.band_db[_octave(centre)], least, expected),)


def _octave(centre_hz: float) -> Band:
    return (centre_hz / math.sqrt(2), centre_hz * math.sqrt(2))
