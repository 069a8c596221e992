"""A line that is typed: its label, the field with a caret, and the list of what it may be completed to."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.figure import Colour
from trainer.session.intents import SetText
from trainer.session.pages import Entry
from trainer.session.view import Button
from trainer.ui import paint
from trainer.ui.layout import Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, LABEL, SENTENCE, SMALL, Style

_INSET = 14
_BETWEEN = 24
_MOST_COLUMNS = 3
_LEAST_ROWS = 6
_TALL = 44
_CORNER = 8


@dataclass(frozen=True)
class EntryLine:
    """Set the label over the field, and what is offered as a list below."""

    entry: Entry
    on: Colour = "ground"

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the heights of label, field and offers."""
        return self._stack().heights(pen, width)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw from the top."""
        self._stack().draw(pen, box)

    def _stack(self) -> Stack:
        field = Stack((Words(self.entry.label, LABEL), Space(8, 6), _Field(self.entry, self.on)))
        if not self.entry.offers:
            return field
        keys = "↓ ↑ choose, ← up, Tab completes" if self.entry.way_up else "↓ ↑ choose, Tab completes"
        return Stack((field, Space(8, 6), _OfferList(self.entry.offers), Space(4, 2), Words(keys, SMALL, "muted")))


@dataclass(frozen=True)
class _OfferList:
    """Set names in one column, or down several as they fit, each in a line that can be clicked; folders bold."""

    offers: tuple[Button, ...]

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the longest column."""
        tall = self._rows(pen, width) * self._tall(pen)
        return tall, tall

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Write the names down the columns."""
        rows, tall = self._rows(pen, box.width), self._tall(pen)
        gap = pen.px(_BETWEEN)
        width = (box.width + gap) // -(-len(self.offers) // rows) - gap
        for index, offer in enumerate(self.offers):
            column, row = divmod(index, rows)
            left, top = box.left + column * (width + gap), box.top + row * tall
            self._draw_name(pen, pygame.Rect(left, top, width, tall), offer)

    def _draw_name(self, pen: Pen, line: pygame.Rect, offer: Button) -> None:
        """Write one name under a thin line."""
        touch = pen.offer(line, offer.intent)
        if touch.hovered or touch.focused:
            fill = pen.look.hovered(pen.look.shape("sheet"))
            paint.panel(pen.surface, line, pen.px(4), fill)
        pen.surface.fill(pen.look.shape("rule"), pygame.Rect(line.left, line.top, line.width, max(1, pen.px(1))))
        style, inner = _name_style(offer), line.inflate(-2 * pen.px(8), 0)
        pen.write_in(shorten_middle(pen, offer.label, style, inner.width), inner, style, "ink", "left")
        if touch.focused:
            pen.ring(line.inflate(-2 * pen.px(4), -2 * pen.px(4)), pen.px(4))

    def _rows(self, pen: Pen, width: int) -> int:
        """Give how many names stand below each other: all, or fewer where their columns fit."""
        gap, count = pen.px(_BETWEEN), len(self.offers)
        longest = max(pen.width(offer.label, _name_style(offer)) for offer in self.offers) + 2 * pen.px(8)
        columns = min(max(1, (width + gap) // (longest + gap)), _MOST_COLUMNS, -(-count // _LEAST_ROWS))
        return -(-count // columns)

    def _tall(self, pen: Pen) -> int:
        return max(pen.px(32), pen.leading(BODY) + pen.px(8))


def _name_style(offer: Button) -> Style:
    return LABEL if isinstance(offer.intent, SetText) and offer.intent.text.endswith(("/", "\\")) else BODY


def shorten_middle(pen: Pen, text: str, style: Style, room: int) -> str:
    """Cut a name in its middle if it does not fit, as names of one folder differ at their ends."""
    if pen.width(text, style) <= room:
        return text
    kept = len(text)
    while kept > 2 and pen.width(f"{text[: kept - kept // 2]}…{text[-(kept // 2) :]}", style) > room:
        kept -= 1
    return f"{text[: kept - kept // 2]}…{text[-(kept // 2) :]}"


@dataclass(frozen=True)
class _Field:
    """Show the line in a frame; of a long line its end."""

    entry: Entry
    on: Colour

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the frame."""
        tall = max(pen.px(_TALL), pen.leading(SENTENCE) + pen.px(14))
        return tall, tall

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw frame, text or hint, and the caret after what has been typed."""
        look = pen.look
        fill = look.shape("ground" if self.on == "sheet" else "sheet")
        paint.panel(pen.surface, box, pen.px(_CORNER), fill, look.shape("ink"), max(1, pen.px(1)))
        inner = box.inflate(-2 * pen.px(_INSET), 0)
        caret = max(2, pen.px(2))
        seen = keep_end(pen, self.entry.text, SENTENCE, inner.width - 2 * caret)
        x = inner.left + pen.write_in(seen, inner, SENTENCE, "ink", "left")
        if self.entry.text:
            x += caret
        else:
            hint = pen.shorten(self.entry.hint, SENTENCE, inner.width - 3 * caret)
            pen.write_in(hint, inner.move(3 * caret, 0), SENTENCE, "muted", "left")
        tall = round(pen.size(SENTENCE) * 1.2)
        pen.surface.fill(look.shape("ink"), pygame.Rect(x, box.centery - tall // 2, caret, tall))
        pen.want("line", box)


def keep_end(pen: Pen, text: str, style: Style, room: int) -> str:
    """Cut the beginning of a line if it does not fit, as its end is what is being typed."""
    if pen.width(text, style) <= room:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if pen.width("…" + text[middle:], style) <= room else (middle + 1, high)
    return "…" + text[low:]
