"""A sheet with a title, something on it, and a line below."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.ui import paint
from trainer.ui.layout import Block, Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import LABEL, SMALL

_PADDING = 20
CORNER = 12


@dataclass(frozen=True)
class Card:
    """Set a block on a sheet under its title; a caption stands at the foot."""

    title: str
    inside: Block
    caption: str = ""

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the inner heights and the padding."""
        least, wished = self._stack().heights(pen, width - 2 * pen.px(_PADDING))
        around = 2 * pen.px(_PADDING) - pen.px(6)
        return least + around, wished + around

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw the sheet and what is on it."""
        draw_sheet(pen, box)
        padding = pen.px(_PADDING)
        inner = pygame.Rect(
            box.left + padding,
            box.top + padding - pen.px(4),
            box.width - 2 * padding,
            box.height - 2 * padding + pen.px(6),
        )
        self._stack().draw(pen, inner)

    def _stack(self) -> Stack:
        blocks: list[Block] = [Words(self.title, LABEL), Space(12, 8), self.inside] if self.title else [self.inside]
        if self.caption:
            blocks += [Space(10, 6), Words(self.caption, SMALL, "muted")]
        return Stack(tuple(blocks))


def draw_sheet(pen: Pen, box: pygame.Rect, hovered: bool = False) -> None:
    """Draw an empty sheet with a thin edge."""
    fill = pen.look.shape("sheet")
    edge = pen.look.shape("muted") if hovered else pen.look.shape("rule")
    paint.panel(pen.surface, box, pen.px(CORNER), fill, edge, max(1, pen.px(1)))
