"""Paint a figure at the size it has in the window."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

import pygame

from trainer.session.figure import Area, Figure, Label, Mark, Path, Point
from trainer.session.palette import Rgb
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import Look, Style

_KEPT = 12
_kept: OrderedDict[tuple[int, float, Look], tuple[Figure, pygame.Surface]] = OrderedDict()


@dataclass(frozen=True)
class Drawing:
    """Show a figure as wide as it may be, its words between 80 and 125 % of the text size."""

    figure: Figure

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the heights at the smallest and the largest scale that suit the width."""
        most = width / self.figure.width
        tall = self.figure.height
        least, wished = (min(most, pen.look.type_scale * part) for part in (0.8, 1.25))
        return round(tall * least), round(tall * wished)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Paint the shapes, kept from the last time, and write the labels."""
        if self.figure.width <= 0 or self.figure.height <= 0:
            return
        scale = min(box.width / self.figure.width, box.height / self.figure.height)
        pen.surface.blit(_shapes(self.figure, scale, pen.look), box)
        for shape in self.figure.shapes:
            if isinstance(shape, Label):
                style = Style(shape.size * scale / pen.look.type_scale, shape.weight)
                x, baseline = box.left + shape.at[0] * scale, box.top + shape.at[1] * scale
                pen.write(shape.text, x, baseline, style, shape.colour, shape.anchor)


def _shapes(figure: Figure, scale: float, look: Look) -> pygame.Surface:
    """Paint all but the words on a sheet; the last ones are kept."""
    key = (id(figure), scale, look)
    if key not in _kept or _kept[key][0] is not figure:
        size = (max(1, round(figure.width * scale)), max(1, round(figure.height * scale)))
        surface = pygame.Surface(size)
        surface.fill(look.shape("sheet"))
        for shape in figure.shapes:
            _paint(surface, shape, scale, look)
        _kept[key] = (figure, surface)
        if len(_kept) > _KEPT:
            _kept.popitem(last=False)
    _kept.move_to_end(key)
    return _kept[key][1]


def _paint(surface: pygame.Surface, shape: object, scale: float, look: Look) -> None:
    """Paint one shape."""
    if isinstance(shape, Path):
        points = [_scaled(point, scale) for point in shape.points]
        paint.line(surface, points, max(1.0, shape.width * scale), look.shape(shape.colour))
    elif isinstance(shape, Area):
        points = [_scaled(point, scale) for point in shape.points]
        paint.area(surface, points, look.shape(shape.colour), shape.opacity)
    elif isinstance(shape, Mark):
        paint_mark(surface, shape, _scaled(shape.at, scale), shape.radius * scale, look.shape(shape.colour))


def paint_mark(surface: pygame.Surface, mark: Mark, at: Point, radius: float, colour: Rgb) -> None:
    """Paint a dot, a ring or a cross around a point in pixels."""
    if mark.shape == "dot":
        paint.disc(surface, at, radius, colour)
    elif mark.shape == "ring":
        paint.ring(surface, at, radius, max(1.5, radius * 0.4), colour)
    else:
        arm = radius * 0.85
        for way in (-1, 1):
            ends = [(at[0] - arm, at[1] - arm * way), (at[0] + arm, at[1] + arm * way)]
            paint.line(surface, ends, max(1.5, radius * 0.45), colour)


def _scaled(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale
