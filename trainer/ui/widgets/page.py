"""What every screen has around its own part: title, marks, notice, keys; the body scrolls if it must."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.view import Frame, Progress
from trainer.ui import paint
from trainer.ui.layout import Block
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, SMALL, TITLE, WORDMARK
from trainer.ui.widgets.marks import draw_marks, marks_width
from trainer.ui.widgets.pill import draw_rows, fill_rows, pill_height

MARGIN = 40
NAME = "Evenhand"


@dataclass(frozen=True)
class Page:
    """Body and dock of a screen; the dock stays at the foot, the body takes the room above it.

    Parameters
    ----------
    frame : Frame
        Title, keys and notice.
    body : Block
        The screen's own part.
    dock : Block, optional
        What must always be in sight: the loop and the buttons.
    marks : tuple
        The run so far.
    fill : bool
        Whether the body takes all the height, or only what it wishes.
    """

    frame: Frame
    body: Block
    dock: Block | None = None
    marks: tuple[Progress, ...] = ()
    fill: bool = False


def draw_page(pen: Pen, page: Page) -> None:
    """Draw a page on the whole surface."""
    pen.surface.fill(pen.look.shape("ground"))
    whole = pen.surface.get_rect()
    margin = pen.px(MARGIN)
    top = _draw_header(pen, page.frame, page.marks, whole, margin)
    top = _draw_notice(pen, page.frame.notice, whole, margin, top)
    bottom = _draw_footer(pen, page.frame, whole, margin)
    inner = pygame.Rect(margin, top, whole.width - 2 * margin, max(1, bottom - top))
    if page.dock is not None:
        tall = _dock_height(pen, page, inner)
        page.dock.draw(pen, pygame.Rect(inner.left, inner.bottom - tall, inner.width, tall))
        inner.height = max(1, inner.height - tall - pen.px(16))
    _draw_body(pen, page, inner)


def _dock_height(pen: Pen, page: Page, inner: pygame.Rect) -> int:
    """Give the dock its wish if the body keeps its own least height, otherwise less."""
    assert page.dock is not None
    least, wished = page.dock.heights(pen, inner.width)
    body_least, body_wished = page.body.heights(pen, inner.width)
    spare = inner.height - pen.px(16) - body_least
    generous = inner.height - pen.px(16) - body_wished
    return max(least, min(wished, max(spare - (spare - generous) // 2, generous)))


def _draw_body(pen: Pen, page: Page, room: pygame.Rect) -> None:
    """Draw the body; what does not fit is reached by scrolling."""
    least, wished = page.body.heights(pen, room.width)
    if least <= room.height:
        tall = room.height if page.fill else min(room.height, wished)
        page.body.draw(pen, pygame.Rect(room.left, room.top, room.width, tall))
        return
    pen.scroll_most = least - room.height
    pen.scroll = min(max(pen.scroll, 0), pen.scroll_most)
    with pen.within(room.inflate(2 * pen.px(8), 0)):
        page.body.draw(pen, pygame.Rect(room.left, room.top - pen.scroll, room.width, least))
    _draw_scroll_bar(pen, room, least)


def _draw_scroll_bar(pen: Pen, room: pygame.Rect, tall: int) -> None:
    """Show at the right edge which part of the body is seen."""
    width = max(3, pen.px(5))
    left = room.right + pen.px(MARGIN) // 2
    paint.panel(pen.surface, pygame.Rect(left, room.top, width, room.height), width // 2, pen.look.shape("rule"))
    part = max(pen.px(24), room.height * room.height // tall)
    top = room.top + (room.height - part) * pen.scroll // max(1, pen.scroll_most)
    paint.panel(pen.surface, pygame.Rect(left, top, width, part), width // 2, pen.look.shape("muted"))


def _draw_header(pen: Pen, frame: Frame, marks: tuple[Progress, ...], whole: pygame.Rect, margin: int) -> int:
    """Draw name, title and marks over a rule, and return where the page goes on."""
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
    height = max(pen.px(78), tall + pen.px(28))
    y = (height - tall) // 2
    for line in titles:
        pen.write_in(line, pygame.Rect(left, y, right - left, pen.leading(TITLE)), TITLE)
        y += pen.leading(TITLE)
    for line in seconds:
        pen.write_in(line, pygame.Rect(left, y, right - left, pen.leading(SMALL)), SMALL, "muted")
        y += pen.leading(SMALL)
    pen.write_in(NAME, pygame.Rect(margin, 0, name, height), WORDMARK, "ink", "left")
    draw_marks(pen, marks, whole.right - margin, height // 2)
    rule = pygame.Rect(margin, height, whole.width - 2 * margin, max(1, pen.px(1)))
    pen.surface.fill(pen.look.shape("rule"), rule)
    return height + pen.px(24)


def _draw_notice(pen: Pen, notice: str, whole: pygame.Rect, margin: int, top: int) -> int:
    """Draw one notice on a sheet of its own, if there is one."""
    if not notice:
        return top
    top -= pen.px(12)
    width, inset = whole.width - 2 * margin, pen.px(40)
    lines = pen.wrap(notice, BODY, width - inset - pen.px(16))
    box = pygame.Rect(margin, top, width, len(lines) * pen.leading(BODY) + pen.px(14))
    paint.panel(pen.surface, box, pen.px(8), pen.look.shape("sheet"), pen.look.shape("amber"), max(1, pen.px(1)))
    paint.disc(
        pen.surface,
        (margin + pen.px(20), box.top + pen.px(7) + pen.leading(BODY) / 2),
        pen.px(5),
        pen.look.shape("amber"),
    )
    y = box.top + pen.px(7)
    for line in lines:
        pen.write_in(line, pygame.Rect(margin + inset, y, width, pen.leading(BODY)), BODY, "ink", "left")
        y += pen.leading(BODY)
    return box.bottom + pen.px(16)


def _draw_footer(pen: Pen, frame: Frame, whole: pygame.Rect, margin: int) -> int:
    """Draw keys and footer from the lower edge up, and return where the page must end."""
    width, gap = whole.width - 2 * margin, pen.px(32)
    note = pen.shorten(frame.footer, SMALL, width)
    note_width = pen.width(note, SMALL)
    keys = tuple(key for key in frame.keys if key.shown)
    rows = fill_rows(pen, keys, width)
    beside = fill_rows(pen, keys, width - note_width - gap) if note else rows
    own_line = bool(note) and len(beside) > len(rows)
    rows = rows if own_line else beside
    pills = len(rows) * (pill_height(pen) + pen.px(8)) - (pen.px(8) if rows else 0)
    lines = pen.leading(SMALL) + pen.px(4) if own_line or (note and not rows) else 0
    top = whole.bottom - pen.px(28) - pills - lines
    draw_rows(pen, rows, margin, top)
    if note:
        height = lines if lines else pill_height(pen)
        pen.write_in(
            note,
            pygame.Rect(margin, whole.bottom - pen.px(28) - height, width, height),
            SMALL,
            "muted",
            "right",
        )
    return top - pen.px(20)
