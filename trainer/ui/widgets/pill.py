"""Keys as pills with what they do, in rows that fit."""

from __future__ import annotations

import pygame

from trainer.session.view import Key
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import SMALL, Style

_KEY = Style(13, "bold")
_PADDING = 9
_GAP = 22


def pill_height(pen: Pen) -> int:
    """Give the height of a pill in pixels."""
    return max(pen.px(24), pen.leading(SMALL) + pen.px(4))


def pill_width(pen: Pen, label: str) -> int:
    """Give the width of a pill in pixels."""
    return max(pill_height(pen), pen.width(label, _KEY) + 2 * pen.px(_PADDING))


def key_width(pen: Pen, key: Key) -> int:
    """Give the width of a pill and its words in pixels."""
    return pill_width(pen, key.label) + pen.px(8) + pen.width(key.does, SMALL)


def draw_pill(pen: Pen, left: int, top: int, label: str, hovered: bool = False) -> int:
    """Draw a pill and return its width."""
    box = pygame.Rect(left, top, pill_width(pen, label), pill_height(pen))
    fill, edge = pen.look.shape("sheet"), pen.look.shape("muted" if hovered else "rule")
    paint.panel(pen.surface, box, pen.px(7), fill, edge, max(1, pen.px(1)))
    pen.write_in(label, box, _KEY, "ink")
    return box.width


def draw_key(pen: Pen, left: int, top: int, key: Key) -> None:
    """Draw a pill with its words; one that means a single thing can be clicked."""
    box = pygame.Rect(left, top, key_width(pen, key), pill_height(pen))
    intents = {intent for _, intent in key.bindings}
    hovered = len(intents) == 1 and pen.offer(box, next(iter(intents)), by_tab=False).hovered
    width = draw_pill(pen, left, top, key.label, hovered)
    words = pygame.Rect(left + width + pen.px(8), top, box.width, box.height)
    pen.write_in(key.does, words, SMALL, "ink" if hovered else "muted", "left")


def fill_rows(pen: Pen, keys: tuple[Key, ...], width: int) -> list[list[Key]]:
    """Set keys in rows no wider than ``width`` pixels."""
    rows: list[list[Key]] = []
    used = width + 1
    for key in keys:
        each = key_width(pen, key)
        if used + pen.px(_GAP) + each > width:
            rows.append([])
            used = -pen.px(_GAP)
        rows[-1].append(key)
        used += pen.px(_GAP) + each
    return rows


def draw_rows(pen: Pen, rows: list[list[Key]], left: int, top: int) -> None:
    """Draw rows of keys from the top left."""
    for row in rows:
        x = left
        for key in row:
            draw_key(pen, x, top, key)
            x += key_width(pen, key) + pen.px(_GAP)
        top += pill_height(pen) + pen.px(8)
