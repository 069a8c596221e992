"""One line of a long list: closer than a card, in a thin frame on a sheet, with a thin rule between neighbours else."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.figure import Colour
from trainer.session.view import PlanItem
from trainer.ui import paint
from trainer.ui.layout import Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, LABEL, SMALL
from trainer.ui.widgets.plan import find_key

_PADDING = 12
_LEAST_PADDING = 8
_REACH = 8
_NUMBER = 32
_APART = 24
_CORNER = 8
_BETWEEN = 6
_LEAST_WORDS = 200


@dataclass(frozen=True)
class PlanLine:
    """Show title over detail on the left, amount over note on the right, or all below each other.

    A number stands before it only where that key does something now. On a sheet, which is a card itself and mostly
    holds what cannot be pressed, each line has its frame.
    """

    item: PlanItem
    ruled: bool = True
    on: Colour = "ground"

    @property
    def _framed(self) -> bool:
        return self.on == "sheet"

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the taller side and the padding."""
        left, right, words, rest = self._sides(pen, width)
        tall = max(left.heights(pen, words)[0], right.heights(pen, rest)[0])
        return tall + 2 * pen.px(_LEAST_PADDING), tall + 2 * pen.px(_PADDING)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw the line and offer it; the chosen one stands on a sheet with a bar of ink before it."""
        whole, look = box.inflate(2 * pen.px(_REACH), -pen.px(_BETWEEN) if self._framed else 0), pen.look
        touch = pen.offer(whole, self.item.intent)
        chosen = self.item.selected
        if chosen:
            pen.want("chosen", box)
        if chosen or touch.hovered:
            fill = look.shape("ground" if self.on == "sheet" else "sheet")
            paint.panel(pen.surface, whole, pen.px(_CORNER), fill, look.shape("muted"), max(1, pen.px(1)))
            if chosen:
                bar = pygame.Rect(whole.left, whole.top + pen.px(_CORNER) // 2, pen.px(4), 0)
                bar.height = whole.bottom - pen.px(_CORNER) // 2 - bar.top
                paint.panel(pen.surface, bar, pen.px(2), look.shape("ink"))
        elif self._framed:
            paint.outline(pen.surface, whole, pen.px(_CORNER), max(1, pen.px(1)), look.shape("rule"))
        elif self.ruled:
            pen.surface.fill(look.shape("rule"), pygame.Rect(box.left, box.top, box.width, max(1, pen.px(1))))
        left, right, words, rest = self._sides(pen, box.width)
        start = box.left + self._inset(pen)
        if key := find_key(pen, self.item):
            place = pygame.Rect(box.left, box.top, 0, box.height)
            pen.write_in(key, place, LABEL, "muted", "left")
        for side, x, width in ((left, start, words), (right, box.right - rest, rest)):
            tall = side.heights(pen, width)[0]
            side.draw(pen, pygame.Rect(x, box.centery - tall // 2, width, tall))
        if touch.focused:
            pen.ring(whole.inflate(-2 * pen.px(4), -2 * pen.px(4)), pen.px(4))

    def _sides(self, pen: Pen, width: int) -> tuple[Stack, Stack, int, int]:
        """Give both sides with their widths in pixels."""
        item, room = self.item, width - self._inset(pen)
        names = (Words(item.title, LABEL), Words(item.detail, SMALL, "muted"))
        rest = max(pen.width(item.amount, BODY), pen.width(item.note, SMALL))
        words = room - rest - (pen.px(_APART) if rest else 0)
        if words < pen.look.type_px(_LEAST_WORDS) and rest:
            below = (Words(item.amount, BODY), Words(item.note, SMALL, "muted"))
            return Stack((*names, *below)), Stack(()), room, 0
        right = (Words(item.amount, BODY, "ink", "right"), Words(item.note, SMALL, "muted", "right"))
        return Stack(names), Stack(right), words, rest

    def _inset(self, pen: Pen) -> int:
        return max(pen.px(_NUMBER), pen.look.type_px(_NUMBER)) if find_key(pen, self.item) else 0
