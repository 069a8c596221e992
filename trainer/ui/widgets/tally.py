"""A row of answers as marks: a dot, a cross, a ring; with what it was and what it came to."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.pages import Tally
from trainer.ui.pen import Pen
from trainer.ui.widgets.figure import paint_mark
from trainer.ui.widgets.heading import Heading
from trainer.ui.widgets.marks import SHAPES

_APART = 20
_LARGER = 1.6
_BELOW = 8


@dataclass(frozen=True)
class TallyRow:
    """Write title and sum, and draw the marks below, in as many rows as they take."""

    tally: Tally

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the words and of the rows."""
        rows = -(-len(self.tally.marks) // self._each(pen, width))
        tall = self._words().heights(pen, width)[0] + (pen.px(_BELOW) if rows else 0) + rows * self._apart(pen)
        return tall, tall

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw from the top left."""
        self._words().draw(pen, box)
        top = box.top + self._words().heights(pen, box.width)[0] + pen.px(_BELOW)
        apart, each = self._apart(pen), self._each(pen, box.width)
        scale = _LARGER * apart / _APART
        for index, mark in enumerate(self.tally.marks):
            row, column = divmod(index, each)
            shape = SHAPES[mark]
            widest = SHAPES["right"].radius * scale
            at = (box.left + widest + column * apart, top + (row + 0.5) * apart)
            paint_mark(pen.surface, shape, at, shape.radius * scale, pen.look.shape(shape.colour))

    def _words(self) -> Heading:
        return Heading(self.tally.title, self.tally.sum)

    def _apart(self, pen: Pen) -> int:
        return max(pen.px(_APART), pen.look.type_px(_APART * 0.8))

    def _each(self, pen: Pen, width: int) -> int:
        """Give how many marks stand in a row: all, or an even part of them."""
        count = max(1, len(self.tally.marks))
        rows = -(-count // max(1, width // self._apart(pen)))
        return -(-count // rows)
