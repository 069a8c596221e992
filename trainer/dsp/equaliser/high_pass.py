"""The high-pass as a move: asked by its cut-off, read back from the sound by fitting the curve."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.equaliser.filter_move import FilterMove, Reading
from trainer.dsp.equaliser.high_passes import design_high_pass
from trainer.dsp.equaliser.prototypes import Values, high_pass_gain
from trainer.dsp.move import Need, Parameter, Settings
from trainer.measure.contents import Band, StretchContents
from trainer.measure.true_peak import measure_loop_true_peak
from trainer.units import write_frequency, write_number

OCTAVE_DB_OF_AN_ORDER = 6.0
DOWN_DB = -10 * math.log10(2)
# Common practice, no source: low notes that a high-pass could harm come to this or more of the whole.
LOW_NOTES: Band = (20.0, 120.0)
LEAST_LOW_NOTES_DB = -15.0


@dataclass(frozen=True)
class HighPass(FilterMove):
    """Take away what lies below a cut-off; phase turns well above it, so peaks may rise."""

    name: str = "high_pass"
    title: str = "High-pass"
    unit: str = "Hz"
    effect_name: str = "cutoff_hz"
    parameters: tuple[Parameter, ...] = (
        Parameter("cutoff_hz", "Hz", 10.0, 120.0, 30.0),
        Parameter("slope_per_octave_db", "dB", 12.0, 24.0, 12.0, (12.0, 24.0)),
    )
    lowest_read_hz: float = 5.0
    deepest_read_db: float = 40.0

    def design(self, settings: Settings, rate_hz: int) -> Values:
        """Design one section or two."""
        return design_high_pass(settings["cutoff_hz"], _order(settings), rate_hz)

    def give_gain(self, frequencies_hz: Values, settings: Settings) -> Values:
        """Give the Butterworth curve."""
        return high_pass_gain(frequencies_hz, settings["cutoff_hz"], _order(settings))

    def is_neutral(self, settings: Settings) -> bool:
        """Tell that it always does something."""
        return False

    def read(self, reading: Reading, settings: Settings) -> dict[str, float]:
        """Read where the curve is 3 dB down, what low E loses, what lay below, and what became of the peak."""
        below = [_level_below_db(clip, settings["cutoff_hz"]) for clip in (reading.before, reading.after)]
        peaks = [measure_loop_true_peak(c.samples, c.rate_hz).dbtp for c in (reading.before, reading.after)]
        return {
            "three_db_down_hz": reading.find_hz(DOWN_DB, last=False),
            "gain_at_41_hz_db": reading.gain_at_db(41.2),
            "level_below_cutoff_before_db": below[0],
            "level_below_cutoff_after_db": below[1],
            "peak_change_db": peaks[1] - reading.level_gain_db - peaks[0],
        }

    def describe(self, measured: Mapping[str, float], settings: Settings) -> tuple[str, ...]:
        """Say where it begins, and what became of the peak, with its sign."""
        first = f"3 dB down at {write_frequency(measured['cutoff_hz'])}"
        if "level_below_cutoff_before_db" in measured:
            below = write_number(measured["level_below_cutoff_before_db"], 0)
            first += f"; what lay below it was at {below} dB against the whole"
        if "peak_change_db" not in measured:
            return (first + ".",)
        peak = write_number(measured["peak_change_db"], 1, signed=True)
        return (first + ".", f"Before matching, the highest peak changed by {peak} dB.")

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level of the low notes."""
        return (LOW_NOTES,)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for low notes, in which a loss can be heard."""
        expected = f"{write_number(LEAST_LOW_NOTES_DB, 0)} or more: notes below {write_frequency(LOW_NOTES[1])}"
        return (Need("level_of_low_notes_db", contents.band_db[LOW_NOTES], LEAST_LOW_NOTES_DB, expected),)


def _order(settings: Settings) -> int:
    return round(settings["slope_per_octave_db"] / OCTAVE_DB_OF_AN_ORDER)


def _level_below_db(loop: Clip, cutoff_hz: float) -> float:
    """Level of what lies below a frequency against the whole loop, dB; minus infinity if there is nothing."""
    power = (np.abs(np.fft.rfft(loop.samples.astype(np.float64), axis=0)) ** 2).sum(axis=1)
    lines = np.fft.rfftfreq(loop.frames, 1 / loop.rate_hz)
    below, whole = float(power[(lines > 0) & (lines < cutoff_hz)].sum()), float(power.sum())
    return 10 * math.log10(below / whole) if below > 0 else -math.inf
