"""Paint a figure at the size it has in the window."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

import pygame

from trainer.session.figure import Area, Figure, Label, Mark, Path, Point, Shape
from trainer.session.palette import Rgb
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import Look, Style

_KEPT = 12
_LARGER_WORDS = 1.18
_WIDEST_STRETCH = 1.7
Scale = tuple[float, float]
_kept: OrderedDict[tuple[int, Scale, Look], tuple[Figure, pygame.Surface]] = OrderedDict()


@dataclass(frozen=True)
class Drawing:
    """Show a figure as wide as it may be; it is stretched in width rather than left with a gap beside it."""

    figure: Figure

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the heights at the smallest and the largest scale that suit the width."""
        most = width / self.figure.width
        least, wished = (min(most, pen.look.type_scale * part) for part in (0.72, 1.2))
        return round(self.figure.height * least), round(self.figure.height * wished)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Paint the shapes, kept from the last time, and write the labels."""
        if self.figure.width <= 0 or self.figure.height <= 0:
            return
        tall = min(box.width / self.figure.width, box.height / self.figure.height)
        scale = (min(box.width / self.figure.width, _WIDEST_STRETCH * tall), tall)
        pen.surface.blit(_shapes(self.figure, scale, pen.look), box)
        words = min(pen.look.type_scale, tall * _LARGER_WORDS)
        for shape in self.figure.shapes:
            if isinstance(shape, Label):
                style = Style(shape.size * words / pen.look.type_scale, shape.weight)
                x, baseline = box.left + shape.at[0] * scale[0], box.top + shape.at[1] * scale[1]
                pen.write(shape.text, x, baseline, style, shape.colour, shape.anchor)


def _shapes(figure: Figure, scale: Scale, look: Look) -> pygame.Surface:
    """Paint all but the words on a sheet; the last ones are kept."""
    key = (id(figure), scale, look)
    if key not in _kept or _kept[key][0] is not figure:
        surface = pygame.Surface((max(1, round(figure.width * scale[0])), max(1, round(figure.height * scale[1]))))
        surface.fill(look.shape("sheet"))
        for shape in figure.shapes:
            _paint(surface, shape, scale, look)
        _kept[key] = (figure, surface)
        if len(_kept) > _KEPT:
            _kept.popitem(last=False)
    _kept.move_to_end(key)
    return _kept[key][1]


def _paint(surface: pygame.Surface, shape: Shape, scale: Scale, look: Look) -> None:
    """Paint one shape."""
    if isinstance(shape, Path):
        points = [_scaled(point, scale) for point in shape.points]
        paint.line(surface, points, max(1.0, shape.width * scale[1]), look.shape(shape.colour))
    elif isinstance(shape, Area):
        points = [_scaled(point, scale) for point in shape.points]
        paint.area(surface, points, look.shape(shape.colour), shape.opacity)
    elif isinstance(shape, Mark):
        at, radius = _scaled(shape.at, scale), shape.radius * scale[1]
        paint_mark(surface, shape, at, radius, look.shape(shape.colour))


def paint_mark(surface: pygame.Surface, mark: Mark, at: Point, radius: float, colour: Rgb) -> None:
    """Paint a dot, a ring or a cross around a point in pixels."""
    if mark.shape == "dot":
        paint.disc(surface, at, radius, colour)
    elif mark.shape == "ring":
        paint.ring(surface, at, radius, max(1.5, radius * 0.4), colour)
    else:
        paint.cross(surface, at, radius * 0.85, max(1.5, radius * 0.45), colour)


def _scaled(point: Point, scale: Scale) -> Point:
    return point[0] * scale[0], point[1] * scale[1]
