"""How picks split between names: one bar in parts, each with its name and its count."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.figure import Colour
from trainer.session.pages import Share
from trainer.session.palette import Rgb, blend
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import SMALL, Style
from trainer.ui.widgets.heading import Heading
from trainer.units import write_number

_COUNT = Style(SMALL.size, "bold")
_TALL = 18
_SPLIT = 3
_BELOW = 8
_APART = 24
_COLOURS: tuple[Colour, ...] = ("blue", "amber", "green", "vermilion")


@dataclass(frozen=True)
class SplitBar:
    """Write title and sum, draw the bar, and name its parts below: each under its own, or all in their order."""

    share: Share

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of words, bar and names."""
        rows = 1 if self._under(pen, width) else len(self._rows(pen, width))
        around = self._words().heights(pen, width)[0] + pen.px(_BELOW) + pen.px(_TALL) + pen.px(4)
        tall = around + rows * pen.leading(SMALL)
        return tall, tall

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw from the top."""
        self._words().draw(pen, box)
        top = box.top + self._words().heights(pen, box.width)[0] + pen.px(_BELOW)
        bar = pygame.Rect(box.left, top, box.width, pen.px(_TALL))
        self._draw_bar(pen, bar)
        line = pygame.Rect(box.left, bar.bottom + pen.px(4), box.width, pen.leading(SMALL))
        under = self._under(pen, box.width)
        for index, left in enumerate(under):
            self._write_name(pen, index, line.move(left, 0), box.width)
        for row in () if under else self._rows(pen, box.width):
            place = line
            for index in row:
                self._draw_sample(pen, index, place)
                self._write_name(pen, index, place.move(_sample_room(pen), 0), box.width)
                place = place.move(_sample_room(pen) + self._name_width(pen, index, box.width) + pen.px(_APART), 0)
            line = line.move(0, pen.leading(SMALL))

    def _words(self) -> Heading:
        return Heading(self.share.title, self.share.sum)

    def _draw_bar(self, pen: Pen, bar: pygame.Rect) -> None:
        """Draw the parts; where nothing has been picked, an empty bar."""
        radius, thin = bar.height // 2, max(1, pen.px(1))
        if not sum(self.share.counts):
            paint.panel(pen.surface, bar, radius, pen.look.shape("ground"), pen.look.shape("muted"), thin)
        for index, (left, width) in enumerate(self._places(pen, bar.width)):
            part = pygame.Rect(bar.left + left, bar.top, width, bar.height)
            paint.panel(pen.surface, part, radius, *self._paint(pen, index), thin)

    def _draw_sample(self, pen: Pen, index: int, line: pygame.Rect) -> None:
        """Draw a sample of a part's colour before its name."""
        size = round(pen.size(SMALL) * 0.8)
        sample = pygame.Rect(line.left, line.centery - size // 2, size, size)
        paint.panel(pen.surface, sample, size // 3, *self._paint(pen, index), max(1, pen.px(1)))

    def _places(self, pen: Pen, width: int) -> list[tuple[int, int]]:
        """Give where each part begins and how wide it is, in pixels."""
        total, gap = sum(self.share.counts), pen.px(_SPLIT)
        shown = sum(count > 0 for count in self.share.counts)
        room, x, places = width - gap * max(0, shown - 1), 0.0, []
        for count in self.share.counts:
            part = room * count / total if total else 0.0
            places.append((round(x), round(x + part) - round(x)))
            x += part + (gap if count > 0 else 0)
        return places

    def _paint(self, pen: Pen, index: int) -> tuple[Rgb, Rgb]:
        """Give fill and edge of a part: the second of two is plain, as what is left over."""
        look = pen.look
        if len(self.share.counts) == 2 and index == 1:
            return look.shape("rule"), look.shape("muted")
        colour = look.shape(_COLOURS[index % len(_COLOURS)])
        return (colour if index < len(_COLOURS) else blend(look.shape("sheet"), colour, 0.4)), colour

    def _under(self, pen: Pen, width: int) -> list[int]:
        """Give where each name begins if all stand under their own parts; the last may end with the bar."""
        places, found, end = self._places(pen, width), [], 0
        for index, (left, part) in enumerate(places):
            need, last = self._name_width(pen, index, width), index == len(places) - 1
            at = max(0, min(left, width - need)) if last else left
            if at < end or (not last and need > part):
                return []
            found.append(at)
            end = at + need + pen.px(_APART) // 2
        return found

    def _rows(self, pen: Pen, width: int) -> list[list[int]]:
        """Set the names, each with its sample, in rows."""
        rows: list[list[int]] = []
        used = width + 1
        for index in range(len(self.share.names)):
            need = _sample_room(pen) + self._name_width(pen, index, width)
            if used + need > width:
                rows.append([])
                used = 0
            rows[-1].append(index)
            used += need + pen.px(_APART)
        return rows

    def _name_width(self, pen: Pen, index: int, width: int) -> int:
        return pen.width(self._name(pen, index, width), SMALL) + self._count_width(pen, index)

    def _count_width(self, pen: Pen, index: int) -> int:
        return pen.px(6) + pen.width(write_count(self.share.counts[index]), _COUNT)

    def _name(self, pen: Pen, index: int, width: int) -> str:
        """Give a name, cut where it would fill more than a line."""
        return pen.shorten(self.share.names[index], SMALL, width - _sample_room(pen) - self._count_width(pen, index))

    def _write_name(self, pen: Pen, index: int, line: pygame.Rect, width: int) -> None:
        """Write a name and its count."""
        used = pen.write_in(self._name(pen, index, width), line, SMALL, "muted", "left")
        count = write_count(self.share.counts[index])
        pen.write_in(count, line.move(used + pen.px(6), 0), _COUNT, "ink", "left")


def write_count(count: float) -> str:
    """Write a count; what was halved keeps its half."""
    return write_number(count, 0 if count == round(count) else 1)


def _sample_room(pen: Pen) -> int:
    return round(pen.size(SMALL) * 1.4)
