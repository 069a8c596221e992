"""The low shelf as a move: asked by its plateau's gain, read back from the sound by fitting the curve."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from trainer.dsp.equaliser.filter_move import FilterMove, Reading
from trainer.dsp.equaliser.prototypes import Values, low_shelf_gain
from trainer.dsp.equaliser.shelves import design_low_shelf
from trainer.dsp.move import Need, Parameter, Settings, complete_settings
from trainer.measure.contents import Band, StretchContents
from trainer.units import write_frequency, write_number

# Common practice, no source: kick and bass both playing come to this or more of the whole.
LEAST_BELOW_DB = -18.0
LEAST_KICKS_PER_S = 0.5


@dataclass(frozen=True)
class LowShelf(FilterMove):
    """Lift or lower all below a corner; at the corner itself half of the gain in dB."""

    name: str = "low_shelf"
    title: str = "Low shelf"
    parameters: tuple[Parameter, ...] = (
        Parameter("corner_hz", "Hz", 30.0, 1000.0, 100.0),
        Parameter("gain_db", "dB", -12.0, 12.0, 0.0),
    )
    lowest_read_hz: float = 10.0

    def design(self, settings: Settings, rate_hz: int) -> Values:
        """Design one section."""
        return design_low_shelf(settings["corner_hz"], settings["gain_db"], rate_hz)

    def give_gain(self, frequencies_hz: Values, settings: Settings) -> Values:
        """Give the Cookbook's curve."""
        return low_shelf_gain(frequencies_hz, settings["corner_hz"], settings["gain_db"])

    def read(self, reading: Reading, settings: Settings) -> dict[str, float]:
        """Read the corner, and the gain there and at 40 Hz, about the low E of a bass."""
        return {
            "corner_hz": reading.find_hz(reading.amount / 2, last=False),
            "gain_at_corner_db": reading.gain_at_db(settings["corner_hz"]),
            "gain_at_40_hz_db": reading.gain_at_db(40.0),
        }

    def describe(self, measured: Mapping[str, float], settings: Settings) -> tuple[str, ...]:
        """Say how much there is, and where."""
        gain = write_number(measured["gain_db"], 1, signed=True)
        words = f"{gain} dB at the bottom: half of it at {write_frequency(settings['corner_hz'])}"
        if "gain_at_40_hz_db" in measured:
            words += f", {write_number(measured['gain_at_40_hz_db'], 1, signed=True)} dB at 40 Hz"
        return (words + ".",)

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level below the corner."""
        return ((0.0, complete_settings(self, settings)["corner_hz"]),)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a kick, and for real sound below the corner."""
        corner = complete_settings(self, settings)["corner_hz"]
        expected = f"{write_number(LEAST_BELOW_DB, 0)} or more: bass below {write_frequency(corner)} for a shelf"
        return (
            Need("level_below_corner_db", contents.band_db[(0.0, corner)], LEAST_BELOW_DB, expected),
            Need(
                "kicks_per_s", contents.kicks_per_s, LEAST_KICKS_PER_S, f"{LEAST_KICKS_PER_S:g} kicks a second or more"
            ),
        )
