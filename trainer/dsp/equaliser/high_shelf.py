"""The high shelf as a move: asked by its plateau's gain, read back from the sound by fitting the curve."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from trainer.dsp.equaliser.filter_move import FilterMove, Reading
from trainer.dsp.equaliser.prototypes import Values, high_shelf_gain
from trainer.dsp.equaliser.shelves import design_high_shelf
from trainer.dsp.move import Need, Parameter, Settings, complete_settings
from trainer.measure.contents import Band, StretchContents
from trainer.units import write_frequency, write_number

# Sound above the corner must come within this of the whole for a shelf to be heard.
LEAST_ABOVE_DB = -38.0


@dataclass(frozen=True)
class HighShelf(FilterMove):
    """Lift or lower all above a corner; at the corner itself half of the gain in dB."""

    name: str = "high_shelf"
    title: str = "High shelf"
    parameters: tuple[Parameter, ...] = (
        Parameter("corner_hz", "Hz", 1000.0, 16000.0, 8000.0),
        Parameter("gain_db", "dB", -12.0, 12.0, 0.0),
    )

    def design(self, settings: Settings, rate_hz: int) -> Values:
        """Design one section."""
        return design_high_shelf(settings["corner_hz"], settings["gain_db"], rate_hz)

    def give_gain(self, frequencies_hz: Values, settings: Settings) -> Values:
        """Give the Cookbook's curve."""
        return high_shelf_gain(frequencies_hz, settings["corner_hz"], settings["gain_db"])

    def read(self, reading: Reading, settings: Settings) -> dict[str, float]:
        """Read the corner, and the gain there and at 16 kHz."""
        return {
            "corner_hz": reading.find_hz(reading.amount / 2),
            "gain_at_corner_db": reading.gain_at_db(settings["corner_hz"]),
            "gain_at_16_khz_db": reading.gain_at_db(16000.0),
        }

    def describe(self, measured: Mapping[str, float], settings: Settings) -> tuple[str, ...]:
        """Say how much there is, and where."""
        gain = write_number(measured["gain_db"], 1, signed=True)
        words = f"{gain} dB on top: half of it at {write_frequency(settings['corner_hz'])}"
        if "gain_at_16_khz_db" in measured:
            words += f", {write_number(measured['gain_at_16_khz_db'], 1, signed=True)} dB at 16 kHz"
        return (words + ".",)

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level above the corner."""
        return ((complete_settings(self, settings)["corner_hz"], math.inf),)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for real sound above the corner."""
        corner = complete_settings(self, settings)["corner_hz"]
        expected = f"{write_number(LEAST_ABOVE_DB, 0)} or more: sound above {write_frequency(corner)} for a shelf"
        return (Need("level_above_corner_db", contents.band_db[(corner, math.inf)], LEAST_ABOVE_DB, expected),)
