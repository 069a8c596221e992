"""How far a long work is: what is being done, whole per cent, and a bar."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pygame

from trainer.session.pages import Advance
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY
from trainer.ui.widgets.heading import Heading

_TALL = 8
_BELOW = 8


@dataclass(frozen=True)
class AdvanceBar:
    """Write what is being done over a bar that fills from the left."""

    advance: Advance

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of words and bar."""
        tall = self._words().heights(pen, width)[0] + pen.px(_BELOW) + pen.px(_TALL)
        return tall, tall

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw from the top."""
        self._words().draw(pen, box)
        top, tall = box.top + self._words().heights(pen, box.width)[0] + pen.px(_BELOW), pen.px(_TALL)
        whole = pygame.Rect(box.left, top, box.width, tall)
        look, thin = pen.look, max(1, pen.px(1))
        paint.panel(pen.surface, whole, tall // 2, look.shape("sheet"), look.shape("muted"), thin)
        done = pygame.Rect(box.left, top, round(box.width * self._fraction()), tall)
        if done.width >= tall:
            paint.panel(pen.surface, done, tall // 2, look.shape("ink"))

    def _fraction(self) -> float:
        return min(max(self.advance.fraction, 0.0), 1.0)

    def _words(self) -> Heading:
        """Say per cent rounded down: 100 is said only when it is done."""
        return Heading(self.advance.words, f"{math.floor(100 * self._fraction() + 1e-9)} %", BODY)
