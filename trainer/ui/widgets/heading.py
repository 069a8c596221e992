"""What something is on the left, what it comes to on the right."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.ui.layout import Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, LABEL, Style

_APART = 24


@dataclass(frozen=True)
class Heading:
    """Write two texts on one line, or below each other where they do not fit."""

    left: str
    right: str
    style: Style = LABEL

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the line, or of all lines."""
        if self._fits(pen, width):
            tall = max(pen.leading(self.style), pen.leading(BODY))
            return tall, tall
        return self._folded().heights(pen, width)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Write from the top."""
        if not self._fits(pen, box.width):
            self._folded().draw(pen, box)
            return
        line = pygame.Rect(box.left, box.top, box.width, self.heights(pen, box.width)[0])
        pen.write_in(self.left, line, self.style, "ink", "left")
        pen.write_in(self.right, line, BODY, "ink", "right")

    def _fits(self, pen: Pen, width: int) -> bool:
        return pen.width(self.left, self.style) + pen.px(_APART) + pen.width(self.right, BODY) <= width

    def _folded(self) -> Stack:
        return Stack((Words(self.left, self.style), Words(self.right, BODY)))
