"""What charts have in common: room for words, rules and ticks, marks of answers, a legend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.session.axes import Axis, keep_apart, letter_width
from trainer.session.figure import Area, Label, Mark, Path, Shape

SMALL = 12.0
_LEGEND_GAP = 20.0


@dataclass(frozen=True)
class Plot:
    """Edges of the part of a chart where the data are."""

    left: float
    top: float
    right: float
    bottom: float


def leave_room(words: Sequence[str], width: float, height: float, legend: bool = True) -> Plot:
    """Leave room for the words of both axes and for the legend."""
    left = max(letter_width(word, SMALL) for word in words) + 8
    return Plot(math.ceil(left), 9, width - 14, height - (52 if legend else 26))


def draw_levels(
    plot: Plot,
    axis: Axis,
    ticks: Sequence[float],
    words: Sequence[str],
    strong: float | None = None,
) -> list[Shape]:
    """Draw a rule and a word for each tick; the strong one is darker."""
    shapes: list[Shape] = []
    for tick, word in zip(ticks, words, strict=True):
        y = axis.place(tick)
        shapes.append(Path(((plot.left, y), (plot.right, y)), "muted" if tick == strong else "rule", 1.0))
        shapes.append(Label((plot.left - 8, y + 4), word, "muted", SMALL, anchor="right"))
    return shapes


def draw_bottom_ticks(plot: Plot, places: Sequence[float], words: Sequence[str]) -> list[Shape]:
    """Draw short ticks below the plot, and their words where there is room."""
    kept = keep_apart(places, [letter_width(word, SMALL) for word in words], 6)
    shapes: list[Shape] = []
    for place, word, written in zip(places, words, kept, strict=True):
        shapes.append(Path(((place, plot.bottom), (place, plot.bottom + 4)), "muted", 1.0))
        if written:
            shapes.append(Label((place, plot.bottom + 18), word, "muted", SMALL, anchor="middle"))
    return shapes


def draw_trial_ticks(plot: Plot, axis: Axis, count: int) -> list[Shape]:
    """Mark the first trial, round ones and the last."""
    step = 1 if count <= 6 else 5 if count <= 40 else 10
    numbers = sorted({1, count, *(n for n in range(step, count, step) if count - n >= step / 2)})
    words = ["trial 1" if number == 1 else str(number) for number in numbers]
    places = [axis.place(number) for number in numbers]
    places[0] = max(places[0], plot.left)
    return draw_bottom_ticks(plot, places, words)


def mark_answer(at: tuple[float, float], correct: bool) -> Mark:
    """Give a filled dot for a right answer and a cross for a wrong one."""
    return Mark(at, "green", 4.0) if correct else Mark(at, "vermilion", 4.0, "cross")


def name_answers() -> list[tuple[Shape, str]]:
    """Name both marks for the legend."""
    return [(mark_answer((5, 0), True), "right"), (mark_answer((5, 0), False), "wrong")]


def draw_legend(named: Sequence[tuple[Shape, str]], plot: Plot, height: float) -> list[Shape]:
    """Write what each mark stands for in one line at the foot, each beside the mark itself."""
    shapes: list[Shape] = []
    x, y = plot.left, height - 10.0
    for shape, word in named:
        mark_width = 10.0 if isinstance(shape, Mark) and shape.at[0] == 5 else 20.0
        shapes += [_move(shape, x, y - 4), Label((x + mark_width + 6, y), word, "muted", SMALL)]
        x += mark_width + 6 + letter_width(word, SMALL) + _LEGEND_GAP
    return shapes


def _move(shape: Shape, x: float, y: float) -> Shape:
    """Move a shape by a distance in design pixels."""
    if isinstance(shape, Mark):
        return Mark((shape.at[0] + x, shape.at[1] + y), shape.colour, shape.radius, shape.shape)
    if isinstance(shape, Label):
        at = (shape.at[0] + x, shape.at[1] + y)
        return Label(at, shape.text, shape.colour, shape.size, shape.weight, shape.anchor)
    points = tuple((a + x, b + y) for a, b in shape.points)
    if isinstance(shape, Area):
        return Area(points, shape.colour, shape.opacity)
    return Path(points, shape.colour, shape.width)
