"""The head of every screen: the name, the parts of the program, the title of a run, and its marks."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.view import Button, Frame, Progress
from trainer.ui import paint
from trainer.ui.pen import Pen
from trainer.ui.theme import SENTENCE, SMALL, TITLE, WORDMARK, Style
from trainer.ui.widgets.marks import draw_marks, marks_width

NAME = "Evenhand"
_TALL = 78
_HERE = Style(SENTENCE.size, "bold")
_LEAD = 180
_LEAST_LEAD = 32
_GAPS = (36, 28, 20)
_REACH = 10


@dataclass(frozen=True)
class _Row:
    """Places in one line: where it begins, how far apart they are, and which they are."""

    left: int
    gap: int
    places: tuple[Button, ...]


def draw_header(pen: Pen, frame: Frame, marks: tuple[Progress, ...], whole: pygame.Rect, margin: int) -> int:
    """Draw the head of a screen over a rule, and return where the rule stands."""
    beside = _set_beside(pen, frame, marks, whole, margin)
    height = _draw_name(pen, frame, marks, whole, margin)
    if beside is not None:
        _draw_places(pen, beside, height // 2)
    elif frame.places:
        tall = pen.leading(SENTENCE) + pen.px(20)
        height -= pen.px(12)
        for row in _fold(pen, frame.places, whole.width - 2 * margin, margin):
            _draw_places(pen, row, height + tall // 2)
            height += tall
        height += pen.px(4)
    rule = pygame.Rect(margin, height, whole.width - 2 * margin, max(1, pen.px(1)))
    pen.surface.fill(pen.look.shape("rule"), rule)
    return height


def _draw_name(pen: Pen, frame: Frame, marks: tuple[Progress, ...], whole: pygame.Rect, margin: int) -> int:
    """Draw name, title and marks, and return the height that they take."""
    name, run = pen.width(NAME, WORDMARK), marks_width(pen, marks)
    gap = pen.px(24)
    left, right = whole.left + margin + name + gap, whole.right - margin - run - (gap if run else 0)
    widest = max(pen.width(frame.title, TITLE), pen.width(frame.subtitle, SMALL))
    side = max(left - whole.left, whole.right - right)
    if widest <= whole.width - 2 * side:
        left, right = side, whole.width - side
    titles = pen.wrap(frame.title, TITLE, right - left) if frame.title else []
    seconds = pen.wrap(frame.subtitle, SMALL, right - left) if frame.subtitle else []
    tall = len(titles) * pen.leading(TITLE) + len(seconds) * pen.leading(SMALL)
    height = max(pen.px(_TALL), tall + pen.px(28))
    y = (height - tall) // 2
    for line in titles:
        pen.write_in(line, pygame.Rect(left, y, right - left, pen.leading(TITLE)), TITLE)
        y += pen.leading(TITLE)
    for line in seconds:
        pen.write_in(line, pygame.Rect(left, y, right - left, pen.leading(SMALL)), SMALL, "muted")
        y += pen.leading(SMALL)
    pen.write_in(NAME, pygame.Rect(margin, 0, name, height), WORDMARK, "ink", "left")
    draw_marks(pen, marks, whole.right - margin, height // 2)
    return height


def _set_beside(pen: Pen, frame: Frame, marks: tuple[Progress, ...], whole: pygame.Rect, margin: int) -> _Row | None:
    """Set the places beside the name, as wide apart as they can be; not beside a title, or where they do not fit."""
    if not frame.places or frame.title or frame.subtitle:
        return None
    run, name = marks_width(pen, marks), margin + pen.width(NAME, WORDMARK)
    end = whole.right - margin - (run + pen.px(24) if run else 0)
    least = name + pen.px(_LEAST_LEAD)
    wished = max(margin + pen.px(_LEAD), least)
    for left, gap in (*((wished, gap) for gap in _GAPS), (least, _GAPS[-1])):
        if left + _width(pen, frame.places, pen.px(gap)) <= end:
            return _Row(left, pen.px(gap), frame.places)
    return None


def _fold(pen: Pen, places: tuple[Button, ...], width: int, margin: int) -> list[_Row]:
    """Set the places in rows of their own."""
    rows: list[tuple[Button, ...]] = [()]
    for place in places:
        longer = (*rows[-1], place)
        if rows[-1] and _width(pen, longer, pen.px(_GAPS[1])) > width:
            rows.append((place,))
        else:
            rows[-1] = longer
    return [_Row(margin, pen.px(_GAPS[1]), row) for row in rows]


def _width(pen: Pen, places: tuple[Button, ...], gap: int) -> int:
    """Give the width of places in a line; each has room for its bold form, so that none moves when it is chosen."""
    return sum(pen.width(place.label, _HERE) for place in places) + gap * (len(places) - 1)


def _draw_places(pen: Pen, row: _Row, middle: int) -> None:
    """Write the places, the one that is shown bold with a short line below, and offer each."""
    x, tall = row.left, pen.leading(SENTENCE)
    for place in row.places:
        word = pygame.Rect(x, middle - tall // 2, pen.width(place.label, _HERE), tall)
        touch = pen.offer(word.inflate(2 * pen.px(_REACH), pen.px(20)), place.intent)
        style = _HERE if place.selected else SENTENCE
        pen.write_in(place.label, word, style, "ink" if touch.hovered or place.selected else "muted", "left")
        if place.selected:
            line = pygame.Rect(x, word.bottom + pen.px(4), word.width, max(2, pen.px(3)))
            paint.panel(pen.surface, line, 0, pen.look.shape("vermilion"))
        if touch.focused:
            pen.ring(word.inflate(pen.px(8), 0), pen.px(4))
        x += word.width + row.gap
