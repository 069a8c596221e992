"""The tilt as a move: asked by its rise from end to end, read back from the sound by fitting a line."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from trainer.dsp.equaliser.filter_move import FilterMove, Reading
from trainer.dsp.equaliser.prototypes import Values, tilt_gain
from trainer.dsp.equaliser.tilts import design_tilt
from trainer.dsp.move import Need, Parameter, Settings
from trainer.measure.contents import Band, StretchContents
from trainer.units import write_frequency, write_number

# Common practice, no source: a full-range section has this much of the whole at its ends.
LOW_BAND: Band = (0.0, 150.0)
HIGH_BAND: Band = (5000.0, math.inf)
LEAST_LOW_DB = -15.0
LEAST_HIGH_DB = -33.0


@dataclass(frozen=True)
class Tilt(FilterMove):
    """Lean the whole spectrum about a pivot, the same number of dB in each octave."""

    name: str = "tilt"
    title: str = "Tilt"
    effect_name: str = "tilt_db"
    parameters: tuple[Parameter, ...] = (
        Parameter("pivot_hz", "Hz", 200.0, 5000.0, 1000.0),
        Parameter("tilt_db", "dB", -12.0, 12.0, 0.0),
    )

    def design(self, settings: Settings, rate_hz: int) -> Values:
        """Design five sections."""
        return design_tilt(settings["pivot_hz"], settings["tilt_db"], rate_hz)

    def give_gain(self, frequencies_hz: Values, settings: Settings) -> Values:
        """Give the straight line."""
        return tilt_gain(frequencies_hz, settings["pivot_hz"], settings["tilt_db"])

    def read(self, reading: Reading, settings: Settings) -> dict[str, float]:
        """Read the slope, the gain at both ends of what most music fills, and at the pivot."""
        return {
            "slope_per_octave_db": reading.amount / math.log2(1000),
            "gain_at_pivot_db": reading.gain_at_db(settings["pivot_hz"]),
            "gain_at_40_hz_db": reading.gain_at_db(40.0),
            "gain_at_16_khz_db": reading.gain_at_db(16000.0),
        }

    def describe(self, measured: Mapping[str, float], settings: Settings) -> tuple[str, ...]:
        """Say how much it leans, which way, and about what."""
        gain = write_number(abs(measured["tilt_db"]), 1)
        way = "top" if measured["tilt_db"] > 0 else "bottom"
        ends = [
            f"{write_number(measured[name], 1, signed=True)} dB at {place}"
            for name, place in (("gain_at_40_hz_db", "40 Hz"), ("gain_at_16_khz_db", "16 kHz"))
            if name in measured
        ]
        words = f"{gain} dB from end to end towards the {way}, about {write_frequency(settings['pivot_hz'])}"
        return (f"{words}: {' and '.join(ends)}." if ends else f"{words}.",)

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level of both ends."""
        return (LOW_BAND, HIGH_BAND)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a full-range section."""
        low, high = write_number(LEAST_LOW_DB, 0), write_number(LEAST_HIGH_DB, 0)
        return (
            Need("level_below_150_hz_db", contents.band_db[LOW_BAND], LEAST_LOW_DB, f"{low} or more: bass for a tilt"),
            Need("level_above_5_khz_db", contents.band_db[HIGH_BAND], LEAST_HIGH_DB, f"{high} or more: top for a tilt"),
        )
