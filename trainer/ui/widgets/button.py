"""Buttons: answers and versions with an outline, the main one in the accent of the screen."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

import pygame

from trainer.session.palette import ON_ACCENT, blend
from trainer.session.view import Button
from trainer.ui import paint
from trainer.ui.pen import Align, Pen
from trainer.ui.theme import ANSWER, LABEL, SMALL, Accent, Style

Sound = Literal["unknown", "none", "running", "held"]
_CORNER = 10
_PADDING = 22
_GAP = 16
_KEY_INSET = 6


@dataclass(frozen=True)
class Buttons:
    """Set buttons in rows as they fit, all of one group equally wide where that is possible.

    The letter or digit that does the same stands in a button's corner.

    Parameters
    ----------
    buttons : tuple of Button
        In order.
    align : {"left", "middle", "right"}
        Where the rows stand.
    style : Style
        Of the labels.
    tall, narrowest : float
        Height and least width of a button, in design pixels.
    accent : {"go", "begin"}
        Of the main button.
    sounds : tuple
        For each button whether it is the version that runs, the one that is held, or neither; may be empty.
    even : bool
        Whether all are as wide as the widest; otherwise, and with ``sounds``, each is as wide as it must be.
    """

    buttons: tuple[Button, ...]
    align: Align = "middle"
    style: Style = ANSWER
    tall: float = 48
    narrowest: float = 120
    accent: Accent = "go"
    sounds: tuple[Sound, ...] = ()
    even: bool = True

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of all rows."""
        rows = len(self._rows(pen, width))
        tall = rows * self._tall(pen, width) + max(0, rows - 1) * pen.px(_GAP)
        return tall, tall

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw the rows from the top."""
        top, index = box.top, 0
        for row in self._rows(pen, box.width):
            total = sum(width for _, width in row) + pen.px(_GAP) * (len(row) - 1)
            left = box.left + {"left": 0, "middle": (box.width - total) // 2, "right": box.width - total}[self.align]
            for button, width in row:
                sound: Sound = self.sounds[index] if self.sounds else "unknown"
                place = pygame.Rect(left, top, width, self._tall(pen, box.width))
                draw_button(pen, place, button, self.style, self.accent, sound)
                left += width + pen.px(_GAP)
                index += 1
            top += self._tall(pen, box.width) + pen.px(_GAP)

    def _tall(self, pen: Pen, width: int) -> int:
        """Give the height of one button, more where a label breaks."""
        lines = max([_lines(pen, button, self.style, width) for button in self.buttons], default=1)
        return max(pen.px(self.tall), pen.leading(self.style) * lines + pen.px(16))

    def needed(self, pen: Pen) -> int:
        """Give the width of all buttons in one row, in pixels."""
        return sum(self._wanted(pen)) + pen.px(_GAP) * (len(self.buttons) - 1)

    def _wanted(self, pen: Pen) -> list[int]:
        """Give the width that each label needs."""
        room = _symbol_room(pen, self.style) if self.sounds else 0
        return [
            max(pen.px(self.narrowest), pen.width(b.label, self.style) + room + 2 * _side(pen, b)) for b in self.buttons
        ]

    def _rows(self, pen: Pen, width: int) -> list[list[tuple[Button, int]]]:
        """Set answers in even rows of equal width; versions follow each other as wide as they must be.

        From the left, one row of unequal buttons goes before two rows of equal ones.
        """
        gap, wanted = pen.px(_GAP), self._wanted(pen)
        fit = (width + gap) // (max([*wanted, 1]) + gap)
        if self.buttons and self.even and not self.sounds and fit >= 1:
            rows = -(-len(wanted) // fit)
            if rows > 1 and self.align == "left" and self.needed(pen) <= width:
                return self._flow(wanted, width, gap)
            each = -(-len(wanted) // rows)
            pairs = [(button, max(wanted)) for button in self.buttons]
            return [pairs[start : start + each] for start in range(0, len(pairs), each)]
        return self._flow([min(wish, width) for wish in wanted], width, gap)

    def _flow(self, wanted: list[int], width: int, gap: int) -> list[list[tuple[Button, int]]]:
        """Fill rows from the left."""
        rows: list[list[tuple[Button, int]]] = []
        used = width + 1
        for button, each in zip(self.buttons, wanted, strict=True):
            if used + gap + each > width:
                rows.append([])
                used = -gap
            rows[-1].append((button, each))
            used += gap + each
        return rows


def draw_button(
    pen: Pen,
    box: pygame.Rect,
    button: Button,
    style: Style = LABEL,
    accent: Accent = "go",
    sound: Sound = "unknown",
) -> None:
    """Draw one button and offer its intent."""
    look, touch = pen.look, pen.offer(box, button.intent)
    if button.main:
        fill, edge, words = look.accent(accent), look.accent(accent), ON_ACCENT
        fill = blend(fill, (0, 0, 0), 0.14) if touch.hovered else fill
        edge = fill
    elif button.selected if sound == "unknown" else sound != "none":
        fill, edge, words = look.shape("ink"), look.shape("ink"), look.shape("ground")
    else:
        fill, edge, words = look.shape("sheet"), look.shape("ink"), look.word("ink")
        fill = look.hovered(fill) if touch.hovered else fill
    paint.panel(pen.surface, box, pen.px(_CORNER), fill, edge, max(1, pen.px(1)))
    if key := find_key(pen, button):
        corner = pygame.Rect(box.left + pen.px(_KEY_INSET), box.top + pen.px(3), 0, pen.leading(SMALL))
        pen.write_in(key, corner, SMALL, words if fill != look.shape("sheet") else "muted", "left")
    inner = box.inflate(-2 * _side(pen, button) + 2, 0)
    if sound in ("running", "held"):
        _draw_symbol(pen, inner, button.label, style, sound, words)
        inner = pygame.Rect(
            inner.left + _symbol_room(pen, style),
            inner.top,
            inner.width - _symbol_room(pen, style),
            inner.height,
        )
    lines = pen.wrap(button.label, style, inner.width)
    top = box.top + (box.height - pen.leading(style) * len(lines)) // 2
    for line in lines:
        pen.write_in(line, pygame.Rect(inner.left, top, inner.width, pen.leading(style)), style, words)
        top += pen.leading(style)
    if touch.focused:
        pen.ring(box, pen.px(_CORNER))


def _lines(pen: Pen, button: Button, style: Style, width: int) -> int:
    """Count the lines of a label in a button as wide as the page at most."""
    return len(pen.wrap(button.label, style, width - 2 * _side(pen, button)))


def find_key(pen: Pen, button: Button) -> str:
    """Give the letter or digit that does what a button does, unless its label says it, or Enter does the same."""
    key = pen.bound.get(button.intent, "")
    return "" if button.main or key in re.split(r"\W+", button.label) else key


def _side(pen: Pen, button: Button) -> int:
    """Give the room beside a label: enough for the key in the corner."""
    key = find_key(pen, button)
    return max(pen.px(_PADDING), pen.width(key, SMALL) + pen.px(1.5 * _KEY_INSET) if key else 0)


def _symbol_room(pen: Pen, style: Style) -> int:
    return round(pen.size(style) * 1.1)


def _draw_symbol(
    pen: Pen, inner: pygame.Rect, label: str, style: Style, sound: Sound, colour: tuple[int, int, int]
) -> None:
    """Draw a triangle for running sound or two bars for held sound, left of the label."""
    size = pen.size(style) * 0.62
    text = min(pen.width(label, style), inner.width - _symbol_room(pen, style))
    left = inner.left + (inner.width - text - _symbol_room(pen, style)) / 2
    middle = inner.centery
    if sound == "running":
        points = [(left, middle - size / 2), (left + size * 0.9, middle), (left, middle + size / 2)]
        paint.area(pen.surface, points, colour)
        return
    for part in (0.0, 0.55):
        bar = pygame.Rect(round(left + part * size), round(middle - size / 2), max(2, round(size * 0.28)), round(size))
        pen.surface.fill(colour, bar)
