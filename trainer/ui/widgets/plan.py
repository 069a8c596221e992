"""One drill of the plan as a card that can be clicked."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.view import PlanItem
from trainer.ui import paint
from trainer.ui.pen import Align, Pen
from trainer.ui.theme import ANSWER, BODY, FIGURES, LABEL, SMALL, Style
from trainer.ui.widgets.card import CORNER, draw_sheet

Line = tuple[str, Style, str]
_PADDING = 16
_NUMBER = 20
_LEAST_WORDS = 220


@dataclass(frozen=True)
class PlanCard:
    """Show number, title and detail on the left, amount and note on the right, or all in one column.

    A number stands before it only where that key does something now.
    """

    item: PlanItem

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the taller column and the padding."""
        left, right = self._columns(pen, width)
        tall = max(self._tall(pen, left), self._tall(pen, right), 2 * self._radius(pen))
        return tall + 2 * pen.px(10), tall + 2 * pen.px(_PADDING)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw the card and offer the drill."""
        touch = pen.offer(box, self.item.intent)
        if self.item.selected:
            pen.want("chosen", box)
        draw_sheet(pen, box, touch.hovered)
        if self.item.selected and not find_key(pen, self.item):
            paint.outline(pen.surface, box, pen.px(CORNER), max(2, pen.px(2)), pen.look.shape("ink"))
        if find_key(pen, self.item):
            self._draw_number(pen, box)
        left, right = self._columns(pen, box.width)
        start = box.left + self._inset(pen)
        self._write(pen, left, start, box, "left")
        self._write(pen, right, box.right - pen.px(24), box, "right")
        if touch.focused:
            pen.ring(box, pen.px(CORNER))

    def _draw_number(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw the number in a disc that is filled for the selected drill."""
        radius, selected = self._radius(pen), self.item.selected
        at = (box.left + pen.px(22) + radius, box.centery)
        paint.disc(pen.surface, at, radius, pen.look.shape("ink" if selected else "ground"))
        place = pygame.Rect(at[0] - radius, at[1] - radius, 2 * radius, 2 * radius)
        colour = pen.look.shape("sheet") if selected else pen.look.word("ink")
        pen.write_in(find_key(pen, self.item), place, LABEL, colour)

    def _write(self, pen: Pen, lines: list[Line], x: int, box: pygame.Rect, align: Align) -> None:
        """Write lines around the middle of the card."""
        y = box.centery - self._tall(pen, lines) // 2
        for text, style, colour in lines:
            row = pygame.Rect(x, y, 0, pen.leading(style))
            pen.write_in(text, row, style, "ink" if colour == "ink" else "muted", align)
            y += pen.leading(style)

    def _columns(self, pen: Pen, width: int) -> tuple[list[Line], list[Line]]:
        """Break the words into the lines of both columns."""
        item, room = self.item, width - self._inset(pen) - pen.px(24)
        wide = max(pen.width(item.amount, FIGURES), pen.width(item.note, SMALL))
        words = room - wide - pen.px(24)
        if words >= pen.look.type_px(_LEAST_WORDS) or not (item.amount or item.note):
            right: list[Line] = [(item.amount, FIGURES, "ink"), (item.note, SMALL, "muted")]
            return self._wrap(pen, words), [line for line in right if line[0]]
        tail: list[Line] = [(text, FIGURES, "ink") for text in pen.wrap(item.amount, FIGURES, room) if text]
        tail += [(text, SMALL, "muted") for text in pen.wrap(item.note, SMALL, room) if text]
        return self._wrap(pen, room) + tail, []

    def _wrap(self, pen: Pen, room: int) -> list[Line]:
        title: list[Line] = [(text, ANSWER, "ink") for text in pen.wrap(self.item.title, ANSWER, room)]
        return title + [(text, BODY, "muted") for text in pen.wrap(self.item.detail, BODY, room) if text]

    def _tall(self, pen: Pen, lines: list[Line]) -> int:
        return sum(pen.leading(style) for _, style, _ in lines)

    def _radius(self, pen: Pen) -> int:
        return max(pen.px(_NUMBER), round(pen.size(LABEL) * 0.95))

    def _inset(self, pen: Pen) -> int:
        return pen.px(22) + (2 * self._radius(pen) + pen.px(20) if find_key(pen, self.item) else 0)


def find_key(pen: Pen, item: PlanItem) -> str:
    """Give the key that a line's number stands for; nothing where no key does what the line does."""
    return pen.bound.get(item.intent, "") if item.number else ""
