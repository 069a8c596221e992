"""The run so far: a dot for a right answer, a cross for a wrong one, a ring for the trial that is open."""

from __future__ import annotations

from trainer.session.figure import Mark
from trainer.session.view import Progress
from trainer.ui.pen import Pen
from trainer.ui.widgets.figure import paint_mark

_APART = 10.0
_WIDEST = 300.0
SHAPES: dict[Progress, Mark] = {
    "right": Mark((0, 0), "green", 3.6),
    "wrong": Mark((0, 0), "vermilion", 3.6, "cross"),
    "current": Mark((0, 0), "ink", 4.2, "ring"),
    "done": Mark((0, 0), "blue", 4.0),
    "ahead": Mark((0, 0), "rule", 2.2),
}


def marks_width(pen: Pen, marks: tuple[Progress, ...]) -> int:
    """Give the width of the row in pixels."""
    return pen.px(min(_WIDEST, _APART * len(marks)))


def draw_marks(pen: Pen, marks: tuple[Progress, ...], right: int, middle: int) -> None:
    """Draw the row up to its right end; a long run is drawn more closely."""
    if not marks:
        return
    apart = marks_width(pen, marks) / len(marks)
    size = min(1.0, apart / pen.px(_APART)) * pen.look.unit
    for index, mark in enumerate(marks):
        shape = SHAPES[mark]
        at = (right - apart * (len(marks) - index - 0.5), middle)
        paint_mark(pen.surface, shape, at, shape.radius * size, pen.look.shape(shape.colour))
