"""The list of all keys, on a sheet above the page."""

from __future__ import annotations

import pygame

from trainer.session.intents import ChangeTextSize, ChangeTheme, ToggleKeys
from trainer.session.view import Frame, Key
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, SMALL, TITLE
from trainer.ui.widgets.pill import draw_pill, pill_height, pill_width

EVERYWHERE = (
    Key("Tab", "move the focus; Shift Tab goes back", (), False),
    Key("Enter", "or Space: do what has the focus", (), False),
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
        if any(name not in taken for name, _ in key.bindings or ((key.label.lower(), ToggleKeys()),))
    )
    return frame.keys + own


def draw_key_list(pen: Pen, frame: Frame) -> None:
    """Dim the page and list the keys in as many columns as they take."""
    whole = pen.surface.get_rect()
    veil = pygame.Surface(whole.size)
    veil.fill(pen.look.shape("ground"))
    veil.set_alpha(205)
    pen.surface.blit(veil, (0, 0))
    pen.raise_layer()
    pen.offer(whole, ToggleKeys(), by_tab=False)
    keys = listed_keys(frame)
    margin, padding = pen.px(40), pen.px(32)
    head = pen.leading(TITLE) + pen.px(16)
    foot = pen.leading(SMALL) + pen.px(12)
    room = whole.height - 2 * margin - 2 * padding - head - foot
    widest = whole.width - 2 * margin - 2 * padding
    columns = next((n for n in (1, 2, 3) if max(map(sum, _split(pen, keys, n, widest))) <= room), 3)
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
