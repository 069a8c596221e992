"""The list of all keys, on a sheet above the page."""

from __future__ import annotations

from dataclasses import replace

import pygame

from trainer.session.intents import ChangeTextSize, ChangeTheme, ToggleKeys
from trainer.session.view import Frame, Key
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, SMALL, TITLE
from trainer.ui.widgets.pill import draw_pill, pill_height, pill_width

# Distances in design pixels; the type shrinks by steps until all keys show, but stays above what can be read.
_MARGIN, _PADDING = 40, 32
_SHRINK, _LEAST_SCALE = 0.92, 0.5
EVERYWHERE = (
    Key("Tab, then Enter", "or Space: do what has the focus; Shift Tab goes back", (), False),
    Key("Page ↑ ↓", "move a page that is too long", (), False),
    Key("Ctrl +", "larger", (("ctrl plus", ChangeTextSize(1)),), False),
    Key("Ctrl −", "smaller", (("ctrl minus", ChangeTextSize(-1)),), False),
    Key("Ctrl 0", "size as it was", (("ctrl 0", ChangeTextSize(0)),), False),
    Key("Ctrl T", "paper or night", (("ctrl t", ChangeTheme()),), False),
    Key("F1", "or ?: show or hide this list", (("f1", ToggleKeys()), ("question", ToggleKeys())), False),
)
"""Keys of the window itself; a view that binds one of them comes first."""


def listed_keys(frame: Frame) -> tuple[Key, ...]:
    """Give all keys that work now, those of the view first; those of the window unless the view has them."""
    taken = {name for key in frame.keys for name, _ in key.bindings}
    own = tuple(
        key
        for key in EVERYWHERE
        if any(name not in taken for name, _ in key.bindings or ((_name_first(key), ToggleKeys()),))
    )
    return frame.keys + own


def _name_first(key: Key) -> str:
    """Name the first of the keys on a label."""
    return key.label.lower().split(",")[0]


def draw_key_list(pen: Pen, frame: Frame) -> None:
    """Dim the page and list the keys in as many columns as they take; if need be in smaller type, as all must show."""
    whole = pen.surface.get_rect()
    veil = pygame.Surface(whole.size)
    veil.fill(pen.look.shape("ground"))
    veil.set_alpha(205)
    pen.surface.blit(veil, (0, 0))
    pen.raise_layer()
    pen.offer(whole, ToggleKeys(), by_tab=False)
    keys, look = listed_keys(frame), pen.look
    while (columns := _count_columns(pen, keys, whole)) is None:
        pen.look = replace(pen.look, type_scale=_SHRINK * pen.look.type_scale)
    _draw_list(pen, keys, columns, whole)
    pen.look = look


def _measure_room(pen: Pen, whole: pygame.Rect) -> tuple[int, int, int, int]:
    """Give the width and height for keys on a window, and the heights of what is above and below them."""
    around = 2 * pen.px(_MARGIN) + 2 * pen.px(_PADDING)
    head = pen.leading(TITLE) + pen.px(16)
    foot = pen.leading(SMALL) + pen.px(12)
    return whole.width - around, whole.height - around - head - foot, head, foot


def _count_columns(pen: Pen, keys: tuple[Key, ...], whole: pygame.Rect) -> int | None:
    """Count the columns that the keys take; None where three are too few, unless the type is as small as it gets."""
    widest, room, _, _ = _measure_room(pen, whole)
    fitting = (n for n in (1, 2, 3) if max(map(sum, _split(pen, keys, n, widest))) <= room)
    return next(fitting, 3 if pen.look.type_scale < _LEAST_SCALE else None)


def _draw_list(pen: Pen, keys: tuple[Key, ...], columns: int, whole: pygame.Rect) -> None:
    """Draw the sheet with its keys."""
    widest, room, head, foot = _measure_room(pen, whole)
    padding = pen.px(_PADDING)
    tall = [sum(part) for part in _split(pen, keys, columns, widest)]
    column = _column_width(pen, keys, columns, widest)
    size = (
        columns * column + (columns - 1) * pen.px(40) + 2 * padding,
        min(room, max(tall)) + head + foot + 2 * padding,
    )
    box = pygame.Rect(0, 0, *size)
    box.center = whole.center
    paint.panel(pen.surface, box, pen.px(12), pen.look.shape("sheet"), pen.look.shape("ink"), max(1, pen.px(1)))
    inner = box.inflate(-2 * padding, -2 * padding)
    pen.write_in("Keys", pygame.Rect(inner.left, inner.top, inner.width, pen.leading(TITLE)), TITLE, "ink", "left")
    with pen.within(box):
        _draw_columns(pen, keys, columns, inner.move(0, head), column)
    note = pygame.Rect(inner.left, inner.bottom - pen.leading(SMALL), inner.width, pen.leading(SMALL))
    pen.write_in(pen.shorten("Esc closes this list.", SMALL, inner.width), note, SMALL, "muted", "left")


def _pills_width(pen: Pen, keys: tuple[Key, ...]) -> int:
    return max(pill_width(pen, key.label) for key in keys)


def _column_width(pen: Pen, keys: tuple[Key, ...], columns: int, widest: int) -> int:
    """Give the width of one column: what the longest line needs, or its part of the room."""
    wished = _pills_width(pen, keys) + pen.px(16) + max(pen.width(key.does, BODY) for key in keys)
    return min(wished, (widest - (columns - 1) * pen.px(40)) // columns)


def _row_height(pen: Pen, key: Key, words: int) -> int:
    lines = len(pen.wrap(key.does, BODY, words))
    return max(pill_height(pen), lines * pen.leading(BODY)) + pen.px(8)


def _split(pen: Pen, keys: tuple[Key, ...], columns: int, widest: int) -> list[list[int]]:
    """Give the heights of the rows, column by column."""
    words = _column_width(pen, keys, columns, widest) - _pills_width(pen, keys) - pen.px(16)
    tall = [_row_height(pen, key, words) for key in keys]
    each = -(-len(keys) // columns)
    return [tall[start : start + each] for start in range(0, len(keys), each)]


def _draw_columns(pen: Pen, keys: tuple[Key, ...], columns: int, inner: pygame.Rect, column: int) -> None:
    """Write the keys column by column."""
    pills, each = _pills_width(pen, keys), -(-len(keys) // columns)
    for index, key in enumerate(keys):
        if index % each == 0:
            left, y = inner.left + index // each * (column + pen.px(40)), inner.top
        draw_pill(pen, left, y, key.label)
        words = column - pills - pen.px(16)
        row = pygame.Rect(left + pills + pen.px(16), y, words, max(pill_height(pen), pen.leading(BODY)))
        for _, intent in key.bindings:
            if isinstance(intent, (ChangeTextSize, ChangeTheme)):
                pen.offer(pygame.Rect(left, y, column, row.height), intent, by_tab=False)
        for line in pen.wrap(key.does, BODY, words):
            pen.write_in(line, row, BODY, "ink", "left")
            row = row.move(0, pen.leading(BODY))
        y += _row_height(pen, key, words)
