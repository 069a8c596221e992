"""What all filters have in common as moves: sections to run, an analogue curve to be found again in the sound."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.equaliser.curve_fit import fit_curve
from trainer.dsp.equaliser.prototypes import Values
from trainer.dsp.move import Effect, Parameter, Picture, PlainMove, Settings, complete_settings, render_round
from trainer.dsp.processor import Processor, SectionFilter
from trainer.errors import BadValue
from trainer.measure.response import Response, measure_response, measure_third_octaves

PICTURE_POINTS = 120
FORGOTTEN_DB = 200.0
# Run-ups are worked out at one rate; in seconds they are the same at any other.
RUN_UP_RATE_HZ = 48000


@dataclass(frozen=True)
class Reading:
    """Hold what a filter's two loops show.

    Parameters
    ----------
    before, after : Clip
        The loops.
    response : Response
        Gain against frequency between them.
    amount : float
        What the analogue curve must be asked for to come nearest to it.
    level_db : float
        What else the sound was turned by, dB.
    level_gain_db : float
        The part of that which came after the move, dB.
    """

    before: Clip
    after: Clip
    response: Response
    amount: float
    level_db: float
    level_gain_db: float

    def gain_at_db(self, frequency_hz: float) -> float:
        """Read the gain at a frequency against the level, dB; not a number where nothing can be read."""
        low, high = self.response.frequencies_hz[[0, -1]] * (0.97, 1.03)
        return self.response.at(frequency_hz) - self.level_db if low <= frequency_hz <= high else math.nan

    def find_hz(self, gain_db: float, last: bool = True) -> float:
        """Find where the measured curve crosses a gain against the level; not a number if it never does."""
        away = self.response.gains_db - self.level_db - gain_db
        crossings = np.flatnonzero(np.sign(away[1:]) != np.sign(away[:-1]))
        if crossings.size == 0:
            return math.nan
        at = int(crossings[-1 if last else 0])
        x = np.log(self.response.frequencies_hz[at : at + 2])
        return float(np.exp(x[0] - away[at] / (away[at + 1] - away[at]) * (x[1] - x[0])))


@dataclass(frozen=True)
class FilterMove(PlainMove, ABC):
    """A filter as a move: a subclass says what it is called, how it is made and what its curve is."""

    name: str = ""
    title: str = ""
    unit: str = "dB"
    effect_name: str = "gain_db"
    parameters: tuple[Parameter, ...] = ()
    linear: bool = True
    lowest_read_hz: float = 20.0
    # What is further down than this cannot be read well, nor heard.
    deepest_read_db: float = 60.0

    @abstractmethod
    def design(self, settings: Settings, rate_hz: int) -> Values:
        """Design second-order sections, shape (n, 6), of complete settings."""

    @abstractmethod
    def give_gain(self, frequencies_hz: Values, settings: Settings) -> Values:
        """Give the analogue curve, an amplitude factor, of complete settings."""

    @abstractmethod
    def read(self, reading: Reading, settings: Settings) -> dict[str, float]:
        """Read further quantities from the sound; those that are no number are left out."""

    @abstractmethod
    def describe(self, measured: Mapping[str, float], settings: Settings) -> tuple[str, ...]:
        """Say what the sound shows."""

    def is_neutral(self, settings: Settings) -> bool:
        """Tell whether complete settings change nothing."""
        return settings[self.effect_name] == 0

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the setting of its name."""
        return complete_settings(self, {**settings, self.effect_name: amount})

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence; in a chain, neighbouring filters are joined."""
        return SectionFilter(self.design(complete_settings(self, settings), rate_hz))

    def run_up_s(self, settings: Settings) -> float:
        """Wait until the slowest pole is 200 dB down."""
        full = complete_settings(self, settings)
        return _run_up_s(self, tuple(sorted(full.items())))

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Filter the loop in steady state; where nothing is asked it is the loop itself."""
        full = complete_settings(self, settings)
        return loop if self.is_neutral(full) else render_round(self, loop, full)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Fit the curve's amount, and the level besides, to the response that the two loops show."""
        full = complete_settings(self, settings)
        curve = self._curve_db(full)
        response = self._read_response(before, after)
        amount, level_db = fit_curve(response, curve, self._amount())
        reading = Reading(before, after, response, amount, level_db, level_gain_db)
        modelled = level_db + curve(response.frequencies_hz, amount)
        measured = {
            self.effect_name: amount,
            **self.read(reading, full),
            "level_change_db": level_db,
            "worst_deviation_db": float(np.abs(modelled - response.gains_db).max()),
        }
        measured = {name: value for name, value in measured.items() if math.isfinite(value)}
        frequencies = np.geomspace(self.lowest_read_hz, min(20000, 0.49 * before.rate_hz), PICTURE_POINTS)
        asked = level_db + curve(frequencies, full[self.effect_name])
        bands = measure_third_octaves(before.samples, after.samples, before.rate_hz)
        picture = Picture("response", bands, tuple(zip(frequencies.tolist(), asked.tolist(), strict=True)))
        return Effect(amount, measured, picture, self.describe(measured, full))

    def _amount(self) -> Parameter:
        return next(parameter for parameter in self.parameters if parameter.name == self.effect_name)

    def _curve_db(self, full: Settings) -> Callable[[Values, float], Values]:
        def curve(frequencies_hz: Values, amount: float) -> Values:
            gain = self.give_gain(frequencies_hz, {**full, self.effect_name: amount})
            return np.asarray(20 * np.log10(gain))

        return curve

    def _read_response(self, before: Clip, after: Clip) -> Response:
        """Measure the response where it is not too far down."""
        whole = measure_response(before.samples, after.samples, before.rate_hz, self.lowest_read_hz)
        if whole.gains_db.size < 2:
            expected = "sound in which a response can be read"
            raise BadValue(self.title.lower(), "bands", whole.gains_db.size, expected)
        kept = whole.gains_db > whole.gains_db.max() - self.deepest_read_db
        return Response(whole.frequencies_hz[kept], whole.gains_db[kept])


@lru_cache(maxsize=64)
def _run_up_s(move: FilterMove, settings: tuple[tuple[str, float], ...]) -> float:
    """Time until the slowest pole of a filter has decayed, s."""
    sections = move.design(dict(settings), RUN_UP_RATE_HZ)
    slowest = max(float(np.abs(np.roots(section[3:])).max()) for section in sections)
    return FORGOTTEN_DB / (-20 * math.log10(min(max(slowest, 0.1), 1 - 1e-7))) / RUN_UP_RATE_HZ
