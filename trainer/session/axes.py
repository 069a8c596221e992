"""Axes of charts: where a value falls, which ticks are round, how wide their words are."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from trainer.units import MINUS

_NARROW = frozenset("iljtfrI.,:;|'!()[] ·\u202f")
_WIDE = frozenset("ABCDEFGHKLNOPQRSTUVXYZmw&…−+")
_WIDEST = frozenset("MW@%")
# Of each power of ten the ticks that a scale by ratio may have.
_ROUND = (1.0, 2.0, 5.0)


@dataclass(frozen=True)
class Axis:
    """Map values from ``low`` to ``high`` on pixels from ``start`` to ``end``, evenly or by ratio.

    Parameters
    ----------
    low, high : float
        Ends of the values; both above 0 where ``ratio`` is true.
    start, end : float
        Ends in design pixels; ``end`` may be below ``start``.
    ratio : bool
        Whether equal ratios (not equal differences) take equal room.
    """

    low: float
    high: float
    start: float
    end: float
    ratio: bool = False

    def place(self, value: float) -> float:
        """Give the pixel of a value, kept within the axis."""
        held = min(max(value, self.low), self.high)
        if self.ratio:
            part = math.log(held / self.low) / math.log(self.high / self.low)
        else:
            part = (held - self.low) / (self.high - self.low)
        return self.start + part * (self.end - self.start)


def letter_width(text: str, size: float) -> float:
    """Estimate the width of a line of text on the safe side, as charts are laid out before a font is known.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Height of the type in design pixels.

    Returns
    -------
    float
        Width in design pixels; Lato's own is at most this.
    """
    return size * sum(
        0.40 if mark in _NARROW else 0.60 if mark not in _WIDE | _WIDEST else 0.86 if mark in _WIDE else 1.06
        for mark in text
    )


def choose_step(span: float, most: int) -> float:
    """Choose the smallest of …, 0.5, 1, 2, 5, … that divides a span into at most ``most`` parts."""
    least = span / max(1, most)
    power = 10.0 ** math.floor(math.log10(least))
    for factor in (1.0, 2.0, 5.0, 10.0):
        if factor * power >= least * (1 - 1e-9):
            return factor * power
    return 10.0 * power


def even_ticks(low: float, high: float, most: int) -> tuple[float, ...]:
    """Give round, evenly spaced ticks whose first and last contain the values.

    Parameters
    ----------
    low, high : float
        The values' ends, ``low`` below ``high``.
    most : int
        Largest number of steps between the ticks that hold the values.

    Returns
    -------
    tuple of float
        Ticks from low to high.
    """
    for allowed in range(most, 0, -1):
        step = choose_step(high - low, allowed)
        first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
        if last - first <= most:
            break
    return tuple(round(index * step, 10) for index in range(first, last + 1))


def ratio_ticks(low: float, high: float, most: int) -> tuple[float, ...]:
    """Give round amounts that span two bounds, evenly by ratio as far as round amounts are.

    Parameters
    ----------
    low, high : float
        Above 0, ``low`` below ``high``.
    most : int
        Largest number of ticks, 2 or more.

    Returns
    -------
    tuple of float
        Of 1, 2 and 5 times a power of ten, from low to high, two or more.
    """
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    steps = [float(f"{step * 10.0**decade:.6g}") for decade in decades for step in _ROUND]
    first = max((place for place, tick in enumerate(steps) if tick <= low * (1 + 1e-9)), default=0)
    last = min((place for place, tick in enumerate(steps) if tick >= high * (1 - 1e-9)), default=len(steps) - 1)
    spans = range(1, last - first + 2)
    each = next(step for step in spans if (last - first + step - 1) // step + 1 <= most)
    return tuple(steps[min(place, len(steps) - 1)] for place in range(first, last + each, each))


def write_tick(value: float, signed: bool = False) -> str:
    """Write a tick without superfluous decimals: ``0.25``, ``−3``, ``+1.5``."""
    text = f"{value:+.4g}" if signed and value else f"{value:.4g}"
    return text.replace("-", MINUS)


def keep_apart(
    places: Sequence[float], widths: Sequence[float], gap: float, first: Collection[int] = ()
) -> tuple[bool, ...]:
    """Tell which centred labels can be written so that no two touch.

    Parameters
    ----------
    places, widths : sequence of float
        Centre and width of each label.
    gap : float
        Room to leave between two.
    first : collection of int, optional
        Indices of the labels that are considered before the others; from the left, as these are.

    Returns
    -------
    tuple of bool
        Whether each label is written.
    """
    kept: list[int] = []
    order = sorted(range(len(places)), key=lambda index: (index not in first, places[index]))
    for index in order:
        if all(abs(places[index] - places[other]) >= (widths[index] + widths[other]) / 2 + gap for other in kept):
            kept.append(index)
    return tuple(index in kept for index in range(len(places)))
