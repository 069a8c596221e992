"""A line that is typed: its label, the field with a caret, and what it may be completed to."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.figure import Colour
from trainer.session.pages import Entry
from trainer.ui import paint
from trainer.ui.layout import Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import LABEL, SENTENCE, Style
from trainer.ui.widgets.button import Buttons

_OFFER = Style(15)
_INSET = 14
_TALL = 44
_CORNER = 8


@dataclass(frozen=True)
class EntryLine:
    """Set the label over the field, and offers as small buttons below."""

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
        return Stack((field, Space(12, 8), Buttons(self.entry.offers, "left", _OFFER, 36, 48, even=False)))


@dataclass(frozen=True)
class _Field:
    """Show the line in a frame of the colour of the focus; of a long line its end."""

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
        paint.panel(pen.surface, box, pen.px(_CORNER), fill, look.shape("blue"), max(2, pen.px(2)))
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
