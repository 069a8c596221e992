"""A table: names on the left, figures flush right under their heads; row by row where it is too wide."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.pages import Table
from trainer.ui.layout import Space, Stack, Words
from trainer.ui.pen import Align, Pen
from trainer.ui.theme import BODY, SMALL, Style

_HEAD = Style(SMALL.size, "bold")
_APART = 24
_FIRST = 130
_FIGURES = frozenset("0123456789+−-–±<>≤≥∞½×")


@dataclass(frozen=True)
class TableRows:
    """Set the rows under their head, a thin line above each that has a name.

    The room that is left goes to the first column, and to the others that hold words.
    """

    table: Table

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height with narrow and with wide rows."""
        widths = self._widths(pen, width)
        if widths is None:
            return self._folded(pen).heights(pen, width)
        lines = sum(_count_lines(pen, row, widths, BODY) for row in self.table.rows) * pen.leading(BODY)
        fixed = self._head_height(pen, widths) + lines
        return fixed + pen.px(5) * len(self.table.rows), fixed + pen.px(10) * len(self.table.rows)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Write the table from the top."""
        widths = self._widths(pen, box.width)
        if widths is None:
            self._folded(pen).draw(pen, box)
            return
        aligns = self._aligns()
        top = box.top + self._head_height(pen, widths)
        if any(self.table.head):
            _write_row(pen, self.table.head, widths, aligns, (box.left, box.top), _HEAD)
        rows, least = self.table.rows, self.heights(pen, box.width)[0]
        extra = pen.px(5) + min(pen.px(5), max(0, box.height - least) // max(1, len(rows)))
        for row in rows:
            if row[0]:
                pen.surface.fill(pen.look.shape("rule"), pygame.Rect(box.left, top, box.width, max(1, pen.px(1))))
            _write_row(pen, row, widths, aligns, (box.left, top + (extra + 1) // 2), BODY)
            top += _count_lines(pen, row, widths, BODY) * pen.leading(BODY) + extra

    def _columns(self) -> list[tuple[str, ...]]:
        """Give the cells by column, without the head."""
        count = max([1, len(self.table.head), *map(len, self.table.rows)])
        return [tuple(row[n] if n < len(row) else "" for row in self.table.rows) for n in range(count)]

    def _aligns(self) -> tuple[Align, ...]:
        """Set figures flush right, words flush left."""
        found: list[Align] = ["left"]
        for column in self._columns()[1:]:
            found.append("right" if any(cell[:1] in _FIGURES for cell in column if cell) else "left")
        return tuple(found)

    def _widths(self, pen: Pen, width: int) -> list[int] | None:
        """Give the columns' widths in pixels; None where they do not fit side by side."""
        columns = self._columns()
        gaps = pen.px(_APART) * (len(columns) - 1)
        wished, least = [], []
        for index, column in enumerate(columns[1:], 1):
            head = self.table.head[index] if index < len(self.table.head) else ""
            wished.append(max([pen.width(head, _HEAD), *(pen.width(cell, BODY) for cell in column)]))
            least.append(max([_longest(pen, head, _HEAD), *(_longest(pen, cell, BODY) for cell in column)]))
        longest = max([_longest(pen, cell, BODY) for cell in columns[0]], default=0)
        room = width - gaps - min(longest, pen.look.type_px(_FIRST))
        if sum(least) > room:
            return None
        spare = min(1.0, (room - sum(least)) / max(1, sum(wished) - sum(least)))
        others = [low + int((high - low) * spare) for low, high in zip(least, wished, strict=True)]
        if spare == 1.0:
            others = self._share_rest(pen, width - gaps - sum(others), others)
        return [width - gaps - sum(others), *others]

    def _share_rest(self, pen: Pen, first: int, others: list[int]) -> list[int]:
        """Share what the first column does not need with the other columns of words, so that none stands far off."""
        names = [row[0] if row else "" for row in (self.table.head, *self.table.rows)]
        rest = first - max(pen.width(name, BODY) for name in names)
        words = [align == "left" for align in self._aligns()[1:]]
        each = max(0, rest) // (1 + sum(words))
        return [width + each if word else width for width, word in zip(others, words, strict=True)]

    def _head_height(self, pen: Pen, widths: list[int]) -> int:
        if not any(self.table.head):
            return 0
        return _count_lines(pen, self.table.head, widths, _HEAD) * pen.leading(_HEAD) + pen.px(6)

    def _folded(self, pen: Pen) -> Stack:
        """Set each row as lines of its own: its name, then each head with its cell."""
        blocks: list[Words | Space] = []
        for row in self.table.rows:
            blocks += [Space(12, 6)] if blocks else []
            blocks.append(Words(row[0], Style(BODY.size, "bold")))
            heads = (*self.table.head, *[""] * len(row))
            blocks += [
                Words(f"{head}: {cell}" if head else cell, BODY, "ink")
                for head, cell in zip(heads[1:], row[1:], strict=False)
                if cell
            ]
        return Stack(tuple(blocks))


def _longest(pen: Pen, text: str, style: Style) -> int:
    """Give the width of the longest word, which is not broken."""
    return max(pen.width(word, style) for word in text.split(" "))


def _count_lines(pen: Pen, cells: tuple[str, ...], widths: list[int], style: Style) -> int:
    return max(len(pen.wrap(cell, style, room)) for cell, room in zip(cells, widths, strict=False))


def _write_row(
    pen: Pen,
    cells: tuple[str, ...],
    widths: list[int],
    aligns: tuple[Align, ...],
    at: tuple[int, int],
    style: Style,
) -> None:
    """Write one row; a cell that is too long for its column is broken."""
    x = at[0]
    for cell, room, align in zip(cells, widths, aligns, strict=False):
        place = pygame.Rect(x, at[1], room, pen.leading(style))
        for line in pen.wrap(cell, style, room):
            pen.write_in(line, place, style, "muted" if style is _HEAD else "ink", align)
            place = place.move(0, pen.leading(style))
        x += room + pen.px(_APART)
