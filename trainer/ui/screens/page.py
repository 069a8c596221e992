"""A page of parts: headline, one or two columns, and at the foot what stays in sight."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile

import pygame

from trainer.session.pages import Balance, Choices, Loop, PageView, Part, Picture, Sheet, Stages
from trainer.ui.keymap import show_live_keys
from trainer.ui.layout import Block, Row, Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.screens.message import Waiting
from trainer.ui.theme import HEADLINE, SENTENCE
from trainer.ui.widgets.page import FADE, draw_body, draw_frame
from trainer.ui.widgets.parts import Limited, Setting, make_block, stack_parts

_NARROWEST = 360
_DOCK_WAVE = 84
_FURTHEST = 1.35
_MOST_FOOT = 0.4
# Very large text in a small window: what should stay at the foot would leave nothing to read.
_MOST_DOCK = 0.7


@dataclass(frozen=True)
class Column:
    """Set parts below each other; a sheet at the end may reach down to the end of the column beside it.

    On a page that is scrolled, a column that is shorter than the window stays in sight beside a longer one.
    """

    block: Stack
    reaches_down: bool

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the sums of the parts' heights."""
        return self.block.heights(pen, width)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw all parts, the last one in what is left."""
        box = self._keep_in_sight(pen, box)
        wished = self.heights(pen, box.width)[1]
        last = self.block.blocks[-1]
        own = last.heights(pen, box.width)[1]
        if not self.reaches_down or not wished < box.height < wished + (_FURTHEST - 1) * own:
            self.block.draw(pen, box)
            return
        above = wished - own
        Stack(self.block.blocks[:-1]).draw(pen, pygame.Rect(box.left, box.top, box.width, above))
        last.draw(pen, pygame.Rect(box.left, box.top + above, box.width, box.height - above))

    def _keep_in_sight(self, pen: Pen, box: pygame.Rect) -> pygame.Rect:
        """Move the column down as far as the page is moved up; its foot stays above that of the other column."""
        least, wished = self.heights(pen, box.width)
        seen = pen.body.inflate(0, -2 * pen.px(FADE)) if pen.body is not None else box
        tall = min(wished, seen.height)
        if pen.body is None or not least <= tall < box.height:
            return box
        down = min(max(0, seen.top - box.top), box.height - tall)
        return pygame.Rect(box.left, box.top + down, box.width, tall)


def draw_page(pen: Pen, view: PageView) -> None:
    """Draw a page; what does not fit is reached by scrolling, the foot stays."""
    room = draw_frame(pen, show_live_keys(view))
    middle = len(view.columns) == 1 and _plays(view.columns[0])
    setting = Setting(view, align="middle" if middle else "left")
    body = Stack((*_head(view, setting), *_body(view, setting), *_wait(view)), middle=middle)
    dock = view.dock
    if dock and _crowds(pen, room, body, _dock(view, dock, middle)):
        moved = tuple(part for part in dock if not isinstance(part, (Choices, Loop)))
        body = Stack((*body.blocks, Space(20, 12), stack_parts(moved, setting)))
        dock = tuple(part for part in dock if part not in moved)
    if dock and _dock(view, dock, middle).heights(pen, room.width)[0] > _MOST_DOCK * room.height:
        body, dock = Stack((*body.blocks, Space(20, 12), stack_parts(dock, setting))), ()
    draw_body(pen, room, body, _dock(view, dock, middle) if dock else None, fill=middle)


def _head(view: PageView, setting: Setting) -> list[Block]:
    """Give headline, sentence, and the steps that lead the page."""
    blocks: list[Block] = []
    if view.headline:
        blocks.append(Words(view.headline, HEADLINE, align=setting.align, measure=980))
    if view.sentence:
        blocks += [Space(4, 2), Words(view.sentence, SENTENCE, "muted", setting.align, 760)]
    for stages in _leading_stages(view):
        blocks += [Space(16, 8), make_block(stages, setting)]
    return [*blocks, Space(24, 12)] if blocks else blocks


def _body(view: PageView, setting: Setting) -> list[Block]:
    """Give the columns; a single one is no wider than can be read, unless it plays."""
    led = len(_leading_stages(view))
    columns = tuple(column for column in (view.columns[0][led:], *view.columns[1:]) if column) if view.columns else ()
    if not columns:
        return []
    if len(columns) == 1:
        whole = stack_parts(columns[0], setting)
        return [whole if setting.align == "middle" else Limited(whole)]
    sheets = all(isinstance(column[-1], (Sheet, Picture)) for column in columns)
    blocks = tuple(Column(stack_parts(column, setting), sheets) for column in columns)
    widths = view.widths if len(view.widths) == len(columns) else (1.0,) * len(columns)
    only_sheets = all(isinstance(part, (Sheet, Picture)) for column in columns for part in column)
    return [Row(blocks, widths, 20 if only_sheets else 40, _NARROWEST)]


def _wait(view: PageView) -> tuple[Block, ...]:
    """Let the balance rock below a page that is busy, as a bar may rest for a while; nothing moves for it."""
    return (Space(24, 12), Waiting()) if view.busy else ()


def _dock(view: PageView, parts: tuple[Part, ...], middle: bool) -> Block:
    """Give what stays at the foot, around the middle if it plays or the page does."""
    setting = Setting(view, align="middle" if middle or _plays(parts) else "left", wave=_DOCK_WAVE)
    return Stack((stack_parts(parts, setting), Space(8, 0)))


def _crowds(pen: Pen, room: pygame.Rect, body: Block, dock: Block) -> bool:
    """Tell whether the foot leaves too little of a page that does not fit; then only buttons and loop stay."""
    foot = dock.heights(pen, room.width)[0]
    fits = body.heights(pen, room.width)[0] + foot <= room.height
    return not fits and foot > _MOST_FOOT * room.height


def _plays(parts: tuple[Part, ...]) -> bool:
    return any(isinstance(part, (Balance, Loop)) for part in parts)


def _leading_stages(view: PageView) -> tuple[Stages, ...]:
    """Give the steps at the top of the first column: they lead the whole page, whatever its columns."""
    first = view.columns[0] if view.columns else ()
    return tuple(part for part in takewhile(lambda part: isinstance(part, Stages), first) if isinstance(part, Stages))
