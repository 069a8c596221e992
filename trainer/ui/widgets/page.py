"""What every screen has around its own part: title, marks, notice, keys; the body scrolls if it must."""

from __future__ import annotations

import pygame

from trainer.session.view import Frame, Progress
from trainer.ui import paint
from trainer.ui.layout import Block, Space, Stack, share
from trainer.ui.pen import Pen
from trainer.ui.theme import BODY, SMALL
from trainer.ui.widgets.header import draw_header
from trainer.ui.widgets.pill import draw_rows, fill_rows, pill_height

MARGIN = 40
_APART = 20
FADE = 28


def draw_frame(pen: Pen, frame: Frame, marks: tuple[Progress, ...] = ()) -> pygame.Rect:
    """Draw title, marks, notice and keys, and return the room that is left for the screen's own part."""
    pen.surface.fill(pen.look.shape("ground"))
    whole = pen.surface.get_rect()
    margin = pen.px(MARGIN)
    top = draw_header(pen, frame, marks, whole, margin) + pen.px(24)
    pen.first_stop = sum(hit.by_tab for hit in pen.hits)
    pen.bound = {intent: name.upper() for key in frame.keys for name, intent in key.bindings if len(name) == 1}
    top = _draw_notice(pen, frame.notice, whole, margin, top)
    bottom = _draw_footer(pen, frame, whole, margin)
    return pygame.Rect(margin, top, whole.width - 2 * margin, max(1, bottom - top))


def draw_body(pen: Pen, room: pygame.Rect, body: Block, dock: Block | None = None, fill: bool = False) -> None:
    """Draw the screen's own part.

    Parameters
    ----------
    pen : Pen
        Draws.
    room : pygame.Rect
        As ``draw_frame`` left it.
    body : Block
        Takes the room above the dock; what does not fit is reached by scrolling.
    dock : Block, optional
        What must always be in sight, at the foot.
    fill : bool
        Whether the body takes all the height, or only what it wishes.
    """
    foot = room.copy()
    if dock is not None:
        gap = pen.px(_APART)
        pairs = [body.heights(pen, room.width), dock.heights(pen, room.width)]
        tall = share(pairs, room.height - gap)[1]
        foot = pygame.Rect(room.left, room.bottom - tall, room.width, tall)
        room = pygame.Rect(room.left, room.top, room.width, max(1, room.height - tall - gap))
    least, wished = body.heights(pen, room.width)
    if least <= room.height:
        high = room.height if fill else min(room.height, wished)
        body.draw(pen, pygame.Rect(room.left, room.top, room.width, high))
    else:
        # A page that is read is not crowded to be a little shorter; what is heard and answered stays close together.
        _draw_part(pen, room, body, least if fill else (least + wished) // 2)
    if dock is not None:
        dock.draw(pen, foot)


def draw_with_buttons(pen: Pen, room: pygame.Rect, words: tuple[Block, ...], buttons: Block) -> None:
    """Draw words with buttons below them, or the buttons at the foot where the words need all the room."""
    together = Stack((*words, Space(20, 12), buttons, Space(60, 0)), middle=True)
    if together.heights(pen, room.width)[0] <= room.height:
        draw_body(pen, room, together, fill=True)
    else:
        draw_body(pen, room, Stack(words), Stack((buttons, Space(8, 0))))


def _draw_part(pen: Pen, room: pygame.Rect, body: Block, tall: int) -> None:
    """Draw the part of a long body that is scrolled to, fading where it goes on."""
    pen.scroll_most = tall - room.height
    pen.scroll = min(max(pen.scroll, 0), pen.scroll_most)
    pen.body = room
    seen = room.inflate(2 * pen.px(8), 0)
    with pen.within(seen):
        body.draw(pen, pygame.Rect(room.left, room.top - pen.scroll, room.width, tall))
        veil = pygame.Surface((seen.width, 1))
        veil.fill(pen.look.shape("ground"))
        # Where little is hidden, little is veiled: what stands at the edge is still read.
        for hidden, edge, way in ((pen.scroll, seen.top, 1), (pen.scroll_most - pen.scroll, seen.bottom - 1, -1)):
            reach = min(pen.px(FADE), 2 * hidden)
            for step in range(reach):
                veil.set_alpha(round(255 * (1 - step / reach)))
                pen.surface.blit(veil, (seen.left, edge + way * step))
            if pen.wave_seen is not None:  # what moves is not drawn over the veil
                clear = seen.move(0, reach) if way > 0 else seen.move(0, -reach)
                pen.wave_seen = pen.wave_seen.clip(clear)
    _draw_scroll_bar(pen, room, tall)


def _draw_scroll_bar(pen: Pen, room: pygame.Rect, tall: int) -> None:
    """Show at the right edge which part of the body is seen."""
    width = max(3, pen.px(5))
    left = room.right + pen.px(MARGIN) // 2
    paint.panel(pen.surface, pygame.Rect(left, room.top, width, room.height), width // 2, pen.look.shape("rule"))
    part = max(pen.px(24), room.height * room.height // tall)
    top = room.top + (room.height - part) * pen.scroll // max(1, pen.scroll_most)
    paint.panel(pen.surface, pygame.Rect(left, top, width, part), width // 2, pen.look.shape("muted"))


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
