"""The high shelf as a move: asked by its plateau's gain, read back from the sound by fitting the curve."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from trainer.audio.clip import Clip
from trainer.dsp.equaliser.shelves import design_high_shelf, high_shelf_gain
from trainer.dsp.move import Effect, Need, Parameter, Picture, PlainMove, Settings, complete_settings, render_round
from trainer.dsp.processor import Processor, SectionFilter
from trainer.errors import BadValue
from trainer.measure.contents import Band, StretchContents
from trainer.measure.response import Response, measure_response, measure_third_octaves
from trainer.units import write_frequency, write_number

# The filter's slowest pole is far above 100 Hz: a quarter of a second is more than 200 dB of decay.
RUN_UP_S = 0.25
PICTURE_POINTS = 120
# Sound above the corner must come within this of the whole for a shelf to be heard.
LEAST_ABOVE_DB = -38.0


@dataclass(frozen=True)
class HighShelf(PlainMove):
    """Lift or lower all above a corner; at the corner itself half of the gain in dB."""

    name: str = "high_shelf"
    title: str = "High shelf"
    unit: str = "dB"
    effect_name: str = "gain_db"
    parameters: tuple[Parameter, ...] = (
        Parameter("corner_hz", "Hz", 1000.0, 16000.0, 8000.0),
        Parameter("gain_db", "dB", -12.0, 12.0, 0.0),
    )
    linear: bool = True

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the plateau's gain, dB."""
        return complete_settings(self, {**settings, "gain_db": amount})

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence."""
        full = complete_settings(self, settings)
        return SectionFilter(design_high_shelf(full["corner_hz"], full["gain_db"], rate_hz))

    def run_up_s(self, settings: Settings) -> float:
        """Forget after a quarter of a second."""
        return RUN_UP_S

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Filter the loop in steady state; a gain of 0 dB gives the loop itself."""
        full = complete_settings(self, settings)
        return loop if full["gain_db"] == 0 else render_round(self, loop, full)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Fit gain, corner and overall level to the response that the two loops show."""
        full = complete_settings(self, settings)
        response = measure_response(before.samples, after.samples, before.rate_hz)
        asked_hz = full["corner_hz"]
        gain_db, level_db = fit_high_shelf(response, asked_hz)
        modelled = level_db + _curve_db(response.frequencies_hz, asked_hz, gain_db)
        measured = {
            "gain_db": gain_db,
            "corner_hz": _find_corner_hz(response, level_db + gain_db / 2),
            "gain_at_corner_db": response.at(asked_hz) - level_db,
            "gain_at_16_khz_db": response.at(16000.0) - level_db,
            "level_change_db": level_db,
            "worst_deviation_db": float(np.abs(modelled - response.gains_db).max()),
        }
        measured = {name: value for name, value in measured.items() if np.isfinite(value)}
        frequencies = np.geomspace(20, min(20000, 0.49 * before.rate_hz), PICTURE_POINTS)
        asked = level_db + _curve_db(frequencies, asked_hz, full["gain_db"])
        bands = measure_third_octaves(before.samples, after.samples, before.rate_hz)
        picture = Picture("response", bands, tuple(zip(frequencies.tolist(), asked.tolist(), strict=True)))
        return Effect(gain_db, measured, picture, (_describe(measured, asked_hz),))

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for the level above the corner."""
        return ((complete_settings(self, settings)["corner_hz"], math.inf),)

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for real sound above the corner."""
        corner = complete_settings(self, settings)["corner_hz"]
        expected = f"{write_number(LEAST_ABOVE_DB, 0)} or more: sound above {write_frequency(corner)} for a shelf"
        return (Need("level_above_corner_db", contents.band_db[(corner, math.inf)], LEAST_ABOVE_DB, expected),)


def fit_high_shelf(response: Response, corner_hz: float) -> tuple[float, float]:
    """Fit the plateau of a high shelf, whose corner is known, to a measured response.

    Parameters
    ----------
    response : Response
        Gain against frequency.
    corner_hz : float
        The shelf's corner.

    Returns
    -------
    tuple of float
        The plateau's gain, dB, and the level below the shelf, dB.

    Raises
    ------
    BadValue
        If there is no sound to read a response from.
    """
    if response.gains_db.size < 2:
        raise BadValue("high shelf", "bands", response.gains_db.size, "sound in which a response can be read")
    first = float(response.gains_db[0])
    last = float(response.gains_db[-1])

    def miss(trial: np.ndarray) -> np.ndarray:
        curve = _curve_db(response.frequencies_hz, corner_hz, float(trial[0]))
        return np.asarray(trial[1] + curve - response.gains_db)

    found = least_squares(miss, [last - first, first], bounds=([-24, -60], [24, 60]))
    return float(found.x[0]), float(found.x[1])


def _find_corner_hz(response: Response, half_db: float) -> float:
    """Find where the measured curve crosses half of the gain; not a number if it never does."""
    side = np.sign(response.gains_db - half_db)
    crossings = np.flatnonzero(side[1:] != side[:-1])
    if crossings.size == 0:
        return float("nan")
    at = int(crossings[-1])
    x = np.log(response.frequencies_hz[at : at + 2])
    y = response.gains_db[at : at + 2]
    return float(np.exp(x[0] + (half_db - y[0]) / (y[1] - y[0]) * (x[1] - x[0])))


def _curve_db(frequencies_hz: np.ndarray, corner_hz: float, gain_db: float) -> np.ndarray:
    return np.asarray(20 * np.log10(high_shelf_gain(frequencies_hz, corner_hz, gain_db)))


def _describe(measured: dict[str, float], corner_hz: float) -> str:
    """Say in one sentence what the sound shows."""
    return (
        f"{write_number(measured['gain_db'], 1, signed=True)} dB on top: half of it at "
        f"{write_frequency(corner_hz)}, {write_number(measured['gain_at_16_khz_db'], 1, signed=True)} dB at 16 kHz."
    )
