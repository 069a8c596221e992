"""The steps of a longer way: a check for what is done, a full disc for the one that is open, rings for the rest."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.pages import Stages
from trainer.session.view import Button
from trainer.ui import paint
from trainer.ui.pen import Align, Pen
from trainer.ui.theme import SENTENCE, Style

_HERE = Style(SENTENCE.size, "bold")
_RADIUS = 10
_BESIDE = 10
_APART = 24
_LINES = 8


@dataclass(frozen=True)
class StageRow:
    """Set the steps in columns of equal width, in as few rows as they fit in; from the left, or around the middle."""

    stages: Stages
    align: Align = "left"

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the rows."""
        rows = -(-len(self.stages.steps) // self._columns(pen, width))
        tall = rows * self._tall(pen) + (rows - 1) * pen.px(_LINES)
        return tall, tall

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw each step with its name, and offer it."""
        columns = self._columns(pen, box.width)
        pitch = min(box.width // columns, max(pen.px(200), self._widest(pen)))
        used = columns * pitch - max(0, pitch - self._widest(pen) + pen.px(_APART))
        left = box.left + ((box.width - used) // 2 if self.align == "middle" else 0)
        for index, step in enumerate(self.stages.steps):
            row, column = divmod(index, columns)
            top = box.top + row * (self._tall(pen) + pen.px(_LINES))
            self._draw_step(pen, pygame.Rect(left + column * pitch, top, pitch, self._tall(pen)), index, step)

    def _draw_step(self, pen: Pen, cell: pygame.Rect, index: int, step: Button) -> None:
        """Draw one step."""
        radius, here = self._radius(pen), index == self.stages.current
        done = self.stages.done[index]
        style = _HERE if here else SENTENCE
        inset = 2 * radius + pen.px(_BESIDE)
        name = pen.shorten(step.label, style, cell.width - inset)
        place = pygame.Rect(cell.left, cell.top, inset + pen.width(name, style), cell.height)
        touch = pen.offer(place, step.intent)
        lit = here or done or touch.hovered
        draw_step_mark(pen, (cell.left + radius, cell.centery), radius, done, here, touch.hovered)
        pen.write_in(name, place.move(inset, 0), style, "ink" if lit else "muted", "left")
        if touch.focused:
            pen.ring(place.inflate(2 * pen.px(4), 0), pen.px(6))

    def _columns(self, pen: Pen, width: int) -> int:
        """Give how many steps stand in a row: all, or an even part of them."""
        count = max(1, len(self.stages.steps))
        fit = max(1, (width + pen.px(_APART)) // max(1, self._widest(pen)))
        rows = -(-count // fit)
        return -(-count // rows)

    def _widest(self, pen: Pen) -> int:
        """Give the width that the longest name needs, with the room after it."""
        longest = max((pen.width(step.label, _HERE) for step in self.stages.steps), default=0)
        return 2 * self._radius(pen) + pen.px(_BESIDE) + longest + pen.px(_APART)

    def _tall(self, pen: Pen) -> int:
        return max(pen.leading(SENTENCE), 2 * self._radius(pen)) + pen.px(4)

    def _radius(self, pen: Pen) -> int:
        return max(pen.px(_RADIUS), round(pen.size(SENTENCE) * 0.58))


def draw_step_mark(pen: Pen, at: tuple[int, int], radius: int, done: bool, here: bool, hovered: bool) -> None:
    """Draw a disc with a check, a full disc, or a ring."""
    look = pen.look
    if not (done or here):
        thick = max(1.5, radius * 0.15)
        paint.ring(pen.surface, at, radius, thick, look.shape("ink" if hovered else "muted"))
        return
    paint.disc(pen.surface, at, radius, look.shape("ink"))
    if done:
        points = [(-0.46, 0.02), (-0.12, 0.36), (0.48, -0.34)]
        paint.line(
            pen.surface,
            [(at[0] + x * radius, at[1] + y * radius) for x, y in points],
            max(1.5, radius * 0.2),
            look.shape("ground"),
        )
