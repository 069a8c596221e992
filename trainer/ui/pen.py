"""A pen for one picture of the window: draws, and notes what was written where and what can be clicked."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Literal

import pygame

from trainer.session.figure import Colour
from trainer.session.intents import Intent
from trainer.session.palette import Rgb
from trainer.ui import paint
from trainer.ui.lettering import ASCENT, CAPITAL, DESCENT, Lettering
from trainer.ui.theme import Look, Style

Align = Literal["left", "middle", "right"]
Wanted = Literal["focus", "chosen", "line"]
LEADING = 1.36


@dataclass(frozen=True)
class Written:
    """A line of text as it stands in the window, cut to what is visible, on a layer (0: the page)."""

    text: str
    box: pygame.Rect
    layer: int


@dataclass(frozen=True)
class Hit:
    """A place that offers an intent to the pointer and, unless ``by_tab`` is false, to the Tab key."""

    box: pygame.Rect
    intent: Intent
    by_tab: bool = True


@dataclass(frozen=True)
class Touch:
    """Whether the pointer is over an offer, and whether it has the focus."""

    hovered: bool = False
    focused: bool = False


class Pen:
    """Draw on a surface with one look.

    Parameters
    ----------
    surface : pygame.Surface
        What is drawn on.
    look : Look
        Colours and scales.
    lettering : Lettering
        Fonts, kept from picture to picture.
    pointer : tuple of int, optional
        Where the mouse is; None when it is elsewhere.
    focus : int, optional
        Which offer has the focus, counted from 0 over those that Tab reaches.
    scroll : int
        Pixels by which a page that is too long is moved up.
    """

    def __init__(
        self,
        surface: pygame.Surface,
        look: Look,
        lettering: Lettering,
        pointer: tuple[int, int] | None = None,
        focus: int | None = None,
        scroll: int = 0,
    ) -> None:
        self.surface = surface
        self.look = look
        self.lettering = lettering
        self.pointer = pointer
        self.focus = focus
        self.scroll = scroll
        self.scroll_most = 0
        self.layer = 0
        self.written: list[Written] = []
        self.hits: list[Hit] = []
        self.wave: pygame.Rect | None = None
        self.wave_seen: pygame.Rect | None = None
        self.wave_on: Colour = "ground"
        self.waiting: pygame.Rect | None = None
        self.first_stop = 0
        self.body: pygame.Rect | None = None
        self.wanted: dict[Wanted, pygame.Rect] = {}
        self.bound: dict[Intent, str] = {}

    def px(self, design: float) -> int:
        """Give a distance in pixels."""
        return self.look.px(design)

    def leading(self, style: Style) -> int:
        """Give the distance between lines in pixels."""
        return round(self.size(style) * LEADING)

    def size(self, style: Style) -> int:
        """Give the height of the type in pixels."""
        return max(6, self.look.type_px(style.size))

    def width(self, text: str, style: Style) -> int:
        """Measure a line in pixels."""
        return self.lettering.width(text, style.weight, self.size(style))

    def wrap(self, text: str, style: Style, room: int) -> list[str]:
        """Break a text into lines that fit."""
        return self.lettering.wrap(text, style.weight, self.size(style), max(1, room))

    def shorten(self, text: str, style: Style, room: int) -> str:
        """Cut a line with an ellipsis if it does not fit."""
        return self.lettering.shorten(text, style.weight, self.size(style), max(1, room))

    def write(
        self,
        text: str,
        x: float,
        baseline: float,
        style: Style,
        colour: Colour | Rgb = "ink",
        align: Align = "left",
    ) -> int:
        """Write one line from, around or up to ``x`` and return its width in pixels."""
        if not text:
            return 0
        size = self.size(style)
        tint = self.look.word(colour) if isinstance(colour, str) else colour
        image, ascent = self.lettering.render(text, style.weight, size, tint)
        width = image.get_width()
        left = round(x - {"left": 0.0, "middle": width / 2, "right": width}[align])
        base = round(baseline)
        self.surface.blit(image, (left, base - ascent))
        self._note(text, pygame.Rect(left, base - round(ASCENT * size), width, round((ASCENT + DESCENT) * size)))
        return width

    def write_in(
        self,
        text: str,
        box: pygame.Rect,
        style: Style,
        colour: Colour | Rgb = "ink",
        align: Align = "middle",
    ) -> int:
        """Write one line in a box, its capitals centred in the height."""
        x = {"left": box.left, "middle": box.left + box.width / 2, "right": box.right}[align]
        baseline = box.top + (box.height + CAPITAL * self.size(style)) / 2
        return self.write(text, x, baseline, style, colour, align)

    def offer(self, box: pygame.Rect, intent: Intent, by_tab: bool = True) -> Touch:
        """Note a place that can be clicked, and tell how it is touched now."""
        seen = box.clip(self.surface.get_clip())
        place = sum(hit.by_tab for hit in self.hits)
        self.hits.append(Hit(seen, intent, by_tab))
        hovered = self.pointer is not None and seen.collidepoint(self.pointer)
        focused = by_tab and place == self.focus
        if focused:
            self.want("focus", box)
        return Touch(hovered, focused)

    def want(self, kind: Wanted, box: pygame.Rect) -> None:
        """Note what may have to be brought into sight, if it is on a page that is scrolled."""
        if self.body is not None and self.surface.get_clip() != self.surface.get_rect():
            self.wanted[kind] = box

    def scroll_to(self, kind: Wanted) -> int:
        """Give the scroll that brings what is wanted into sight, its top at least; no further than it must."""
        if self.body is None or kind not in self.wanted:
            return self.scroll
        room, box = self.body.inflate(0, -2 * self.px(32)), self.wanted[kind]
        up, down = min(0, box.top - room.top), max(0, min(box.bottom - room.bottom, box.top - room.top))
        return min(max(self.scroll + (up or down), 0), self.scroll_most)

    def find_on_page(self, kind: Wanted) -> int | None:
        """Give the height at which what is wanted stands on the page, however far that is scrolled."""
        return self.wanted[kind].top + self.scroll if kind in self.wanted else None

    def ring(self, box: pygame.Rect, radius: int) -> None:
        """Draw the focus around a box."""
        room = max(2, self.px(4))
        outer = box.inflate(2 * room, 2 * room)
        paint.outline(self.surface, outer, radius + room, max(2, self.px(2.5)), self.look.shape("blue"))

    @contextmanager
    def within(self, box: pygame.Rect) -> Iterator[None]:
        """Draw inside a box only."""
        before = self.surface.get_clip()
        self.surface.set_clip(box.clip(before))
        try:
            yield
        finally:
            self.surface.set_clip(before)

    def raise_layer(self) -> None:
        """Go on above what was drawn: nothing below can be clicked any more."""
        self.layer += 1
        self.hits.clear()
        self.first_stop = 0

    def _note(self, text: str, box: pygame.Rect) -> None:
        """Note a line; uncut where the whole window is drawn on, so that what leaves it can be found."""
        seen = box.clip(self.surface.get_clip()) if self.surface.get_clip() != self.surface.get_rect() else box
        if seen.height > 0 and seen.width > 0:
            self.written.append(Written(text, seen, self.layer))
