"""Axes of charts: where a value falls, which ticks are round, how wide their words are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.units import MINUS

_NARROW = frozenset("iljtfrI.,:;|'!()[] ·\u202f")
_WIDE = frozenset("ABCDEFGHKLNOPQRSTUVXYZmw&…−+")
_WIDEST = frozenset("MW@%")
# Ratios of amounts: from the largest one to the end of its axis, and the least from tick to tick there.
_ROOM_ABOVE, _TICK_RATIO = 1.25, 1.5


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


def doubling_ticks(low: float, high: float, middle: float, most: int) -> tuple[float, ...]:
    """Give ticks that double (or more) from step to step, pass through ``middle`` and contain the values.

    Parameters
    ----------
    low, high : float
        The values' ends, above 0.
    middle : float
        A value above 0 that is one of the ticks.
    most : int
        Largest number of ticks, 2 or more.

    Returns
    -------
    tuple of float
        Ticks from low to high; at least one to each side of the middle.
    """
    below = max(1, math.ceil(math.log2(middle / min(low, middle)) - 1e-9))
    above = max(1, math.ceil(math.log2(max(high, middle) / middle) - 1e-9))
    stride = 1
    while math.ceil(below / stride) + math.ceil(above / stride) + 1 > max(3, most):
        stride += 1
    first, last = -math.ceil(below / stride), math.ceil(above / stride)
    return tuple(middle * 2.0 ** (stride * index) for index in range(first, last + 1))


def end_near(ticks: tuple[float, ...], largest: float, middle: float) -> tuple[tuple[float, ...], float]:
    """End an axis by ratio a little above the largest amount that can be asked.

    Parameters
    ----------
    ticks : tuple of float
        From low to high, above 0.
    largest : float
        The largest amount; the last tick where there is room for its word, if others lie far above it.
    middle : float
        The tick that is named apart, at most the largest amount; it stays as it is.

    Returns
    -------
    tuple of tuple of float and float
        The ticks that are left, and the end of the axis.
    """
    top = largest * _ROOM_ABOVE
    if ticks[-1] <= top:
        return ticks, ticks[-1]
    kept = tuple(tick for tick in ticks if tick == middle or tick * _TICK_RATIO <= largest)
    return (kept if kept[-1] * _TICK_RATIO > largest else (*kept, largest)), top


def write_tick(value: float, signed: bool = False) -> str:
    """Write a tick without superfluous decimals: ``0.25``, ``−3``, ``+1.5``."""
    text = f"{value:+.4g}" if signed and value else f"{value:.4g}"
    return text.replace("-", MINUS)


def keep_apart(
    places: Sequence[float], widths: Sequence[float], gap: float, first: int | None = None
) -> tuple[bool, ...]:
    """Tell which centred labels can be written so that no two touch.

    Parameters
    ----------
    places, widths : sequence of float
        Centre and width of each label.
    gap : float
        Room to leave between two.
    first : int, optional
        Index of the label that is written in any case; the others follow from the left.

    Returns
    -------
    tuple of bool
        Whether each label is written.
    """
    kept: list[int] = []
    order = sorted(range(len(places)), key=lambda index: (index != first, places[index]))
    for index in order:
        if all(abs(places[index] - places[other]) >= (widths[index] + widths[other]) / 2 + gap for other in kept):
            kept.append(index)
    return tuple(index in kept for index in range(len(places)))
