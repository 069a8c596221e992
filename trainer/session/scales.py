"""The scale beside a chart of a threshold: round amounts by ratio, and the usual one in amber."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.session.axes import Axis, even_ticks, ratio_ticks, write_tick
from trainer.session.figure import Label, Path, Shape

_SMALL = 12.0
# From the largest amount that can be asked to the end of its scale at least, and from the usual one to both ends.
_ROOM_ABOVE, _ROOM_AROUND = 1.1, 1.5
# The usual amount takes two lines of words: so far above and below it, in design pixels, no other word stands.
_ABOVE, _BELOW = 12.0, 20.0


def choose_scale(
    held: Sequence[float], usual: float, most: int, largest: float | None = None
) -> tuple[tuple[float, ...], bool]:
    """Choose ticks that hold some values and a usual amount, and tell whether they go by ratio.

    Parameters
    ----------
    held : sequence of float
        Values that lie between the first and the last tick; may be empty.
    usual : float
        A usual amount.
    most : int
        Largest number of ticks, 3 or more.
    largest : float or None
        The largest amount that can be asked: the scale ends at the next round amount, whatever lies beyond it.

    Returns
    -------
    tuple of tuple of float and bool
        The ticks; by ratio unless a value is not above 0.
    """
    low, high = min([usual, *held]), max([usual, *held])
    if low <= 0:
        return even_ticks(low, low + max(1.0, high - low), most), False
    low, high = min(low, usual / _ROOM_AROUND), max(high, usual * _ROOM_AROUND)
    if largest is not None:
        high = _ROOM_ABOVE * max(largest, usual)
    return ratio_ticks(min(low, high / 2), high, most), True


def draw_scale(ticks: Sequence[float], unit: str, usual: float, left: float, right: float, down: Axis) -> list[Shape]:
    """Draw a rule and a word for each tick, and the usual amount over the whole width, named beside the axis."""
    shapes: list[Shape] = []
    at = down.place(usual)
    for tick in ticks:
        if tick == usual:
            continue
        y = down.place(tick)
        shapes.append(Path(((left, y), (right, y)), "rule", 1.0))
        if not -_ABOVE < y - at < _BELOW:
            shapes.append(Label((left - 8, y + 4), word_tick(tick, unit), "muted", _SMALL, anchor="right"))
    return [
        *shapes,
        Path(((left, at), (right, at)), "amber", 2.0),
        Label((left - 8, at + 1), word_tick(usual, unit), "amber", _SMALL, "bold", "right"),
        Label((left - 8, at + 15), "usual", "amber", _SMALL, anchor="right"),
    ]


def word_tick(tick: float, unit: str) -> str:
    """Write a tick with its unit."""
    return f"{write_tick(tick)} {unit}".rstrip()
