"""What every move is: parameters with bounds, a rendering, an effect read from the sound, and a solver."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from trainer.audio.clip import Clip
from trainer.dsp.band_limit import limit_loop
from trainer.dsp.processor import Processor, run_round
from trainer.errors import BadValue
from trainer.measure.contents import Band, StretchContents

Settings = Mapping[str, float]
Curve = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Parameter:
    """Describe a setting: unit, bounds (both allowed), default, and the only values where there are few."""

    name: str
    unit: str
    low: float
    high: float
    default: float
    choices: tuple[float, ...] = ()


@dataclass(frozen=True)
class Picture:
    """Hold what is drawn of an effect.

    Parameters
    ----------
    kind : str
        ``response`` (points are Hz, dB) or ``reduction`` (s, dB).
    measured, asked : tuple of (float, float)
        Points read from the sound; points of the design, empty where there is none.
    """

    kind: str
    measured: Curve
    asked: Curve = ()


@dataclass(frozen=True)
class Effect:
    """Hold what a move did, as read from the sound.

    Parameters
    ----------
    amount : float
        The effect in the unit of the skill.
    measured : dict of str to float
        Every quantity, its unit in its name.
    picture : Picture
        The curve to draw.
    sentences : tuple of str
        What may be said of this very clip, each with its figure.
    """

    amount: float
    measured: dict[str, float] = field(default_factory=dict)
    picture: Picture = field(default_factory=lambda: Picture("response", ()))
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True)
class Need:
    """One thing that a stretch must hold for the move to be heard.

    Parameters
    ----------
    name : str
        The quantity, with its unit.
    value : float
        What the stretch has.
    least : float
        What it needs.
    expected : str
        The need in words.
    """

    name: str
    value: float
    least: float
    expected: str

    @property
    def met(self) -> bool:
        """Tell whether the stretch has enough."""
        return self.value >= self.least


class Move(Protocol):
    """A mastering move on a loop. All functions are pure."""

    @property
    def name(self) -> str:
        """Its name."""
        ...

    @property
    def title(self) -> str:
        """Its title, for a person."""
        ...

    @property
    def unit(self) -> str:
        """Unit of its effect."""
        ...

    @property
    def effect_name(self) -> str:
        """The measured quantity that an amount stands for."""
        ...

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """Its settings."""
        ...

    @property
    def linear(self) -> bool:
        """Whether it is a filter and no more."""
        ...

    @property
    def matched(self) -> bool:
        """Whether its versions are brought to one loudness; not so where level itself is the question."""
        ...

    @property
    def at_ending(self) -> bool:
        """Whether it is asked on the end of a song, where the music stops and the room rings out."""
        ...

    def prepare(self, loop: Clip) -> Clip:
        """Put on both versions what the move needs on both to be fair."""
        ...

    def refer(self, loop: Clip, settings: Settings) -> Clip:
        """Make what the move is compared with: mostly the prepared loop itself."""
        ...

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find complete settings that give an effect of ``amount`` on a prepared loop.

        Raises
        ------
        NotReachable
            If the loop does not allow the amount; the message says the most that it does.
        """
        ...

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Make the move on a prepared loop in steady state: same length, same alignment."""
        ...

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read the effect from the sound.

        ``before`` is what `refer` gives, ``after`` what `render` gives, turned up by ``level_gain_db`` as a whole
        against ``before``.
        """
        ...

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Name the bands, low and high edge, whose level the excerpt chooser has to know."""
        ...

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """List what a stretch must hold, with what it has."""
        ...


class StreamingMove(Move, Protocol):
    """A move that can also be sent through a whole song, or stand in a chain with others."""

    @property
    def holds_ceiling(self) -> bool:
        """Whether it promises a ceiling on sound without anything above 21 kHz."""
        ...

    def begin(self, settings: Settings, rate_hz: int) -> Processor:
        """Begin in silence."""
        ...

    def run_up_s(self, settings: Settings) -> float:
        """Time after which the past is forgotten, s."""
        ...


class PlainMove:
    """What most moves have in common; a base to build on."""

    linear: bool = False
    matched: bool = True
    at_ending: bool = False
    # Makes overtones or rides peaks: nothing above 21 kHz may go in, see `trainer.dsp.band_limit`.
    band_limited: bool = False
    # Promises a ceiling, which in a chain needs the gentle end at 21 kHz ahead of it.
    holds_ceiling: bool = False

    def prepare(self, loop: Clip) -> Clip:
        """Put the gentle end at 21 kHz on the loop where the move needs it; else leave it as it is."""
        return limit_loop(loop) if self.band_limited else loop

    def refer(self, loop: Clip, settings: Settings) -> Clip:
        """Compare with the prepared loop itself."""
        return loop

    def bands_hz(self, settings: Settings) -> tuple[Band, ...]:
        """Ask for no band."""
        return ()

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Need nothing."""
        return ()


def render_round(move: StreamingMove, loop: Clip, settings: Settings) -> Clip:
    """Send a loop through a move in steady state; complete settings."""
    run_up = int(round(move.run_up_s(settings) * loop.rate_hz))
    return run_round(lambda: move.begin(settings, loop.rate_hz), loop, run_up)


def complete_settings(move: Move, settings: Settings) -> dict[str, float]:
    """Fill in defaults and refuse unknown names and values out of bounds.

    Raises
    ------
    BadValue
        For the first setting that is wrong.
    """
    known = {parameter.name: parameter for parameter in move.parameters}
    for name, value in settings.items():
        if name not in known:
            raise BadValue(move.name, name, value, f"one of {', '.join(known)}")
        low, high, choices = known[name].low, known[name].high, known[name].choices
        if not low <= value <= high:
            raise BadValue(move.name, name, value, f"{low:g} to {high:g} {known[name].unit}")
        if choices and value not in choices:
            raise BadValue(move.name, name, value, f"one of {', '.join(f'{choice:g}' for choice in choices)}")
    return {name: float(settings.get(name, parameter.default)) for name, parameter in known.items()}
