"""What was asked and what was measured, row by row."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.figure import Colour
from trainer.session.view import ReceiptRow
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, SMALL, Style

_PARTS = (0.46, 0.27, 0.27)
_HEAD = Style(13, "bold")


@dataclass(frozen=True)
class Receipt:
    """Show rows in three columns; long words break within their column."""

    rows: tuple[ReceiptRow, ...]

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the head and of all rows."""
        lines = sum(self._lines(pen, row, width) for row in self.rows) * pen.leading(BODY)
        head = pen.leading(SMALL) + pen.px(6)
        return head + lines + pen.px(3) * len(self.rows), head + lines + pen.px(10) * len(self.rows)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Write the table from the top."""
        widths = self._widths(pen, box.width)
        self._write(pen, ("", "asked", "measured"), box.left, box.top, widths, _HEAD)
        top = box.top + pen.leading(SMALL) + pen.px(6)
        least = self.heights(pen, box.width)[0]
        extra = pen.px(3) + max(0, box.height - least) // max(1, len(self.rows))
        for row in self.rows:
            pen.surface.fill(pen.look.shape("rule"), pygame.Rect(box.left, top, box.width, 1))
            self._write(pen, (row.name, row.asked, row.measured), box.left, top + extra // 2, widths, BODY)
            top += self._lines(pen, row, box.width) * pen.leading(BODY) + extra

    def _widths(self, pen: Pen, width: int) -> list[int]:
        return [int(width * part) - pen.px(8) for part in _PARTS]

    def _lines(self, pen: Pen, row: ReceiptRow, width: int) -> int:
        cells = zip((row.name, row.asked, row.measured), self._widths(pen, width), strict=True)
        return max(len(pen.wrap(cell, BODY, room)) for cell, room in cells)

    def _write(
        self, pen: Pen, cells: tuple[str, str, str], left: int, top: int, widths: list[int], style: Style
    ) -> None:
        """Write one row: the name on the left, figures flush right in their columns."""
        x = left
        for index, (cell, room) in enumerate(zip(cells, widths, strict=True)):
            place = pygame.Rect(x, top, room, pen.leading(style))
            for line in pen.wrap(cell, style, room):
                colour: Colour = "muted" if index < 2 else "ink"
                pen.write_in(line, place, style, colour, "left" if index == 0 else "right")
                place = place.move(0, pen.leading(style))
            x += room + pen.px(8)
