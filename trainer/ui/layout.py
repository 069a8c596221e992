"""Blocks that know their least and their wished height, stacked and set side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import pygame

from trainer.session.figure import Colour
from trainer.session.palette import Rgb
from trainer.ui.lettering import CAPITAL
from trainer.ui.pen import LEADING, Align, Pen
from trainer.ui.theme import Style


class Block(Protocol):
    """Part of a page that takes the width it is given and says what height it needs."""

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the least and the wished height in pixels."""
        ...

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw in a box."""
        ...


@dataclass(frozen=True)
class Space:
    """Leave room, in design pixels."""

    wished: float
    least: float = 4.0

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the least and the wished height in pixels."""
        return pen.px(min(self.least, self.wished)), pen.px(self.wished)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw nothing."""


@dataclass(frozen=True)
class Words:
    """Write a text in as many lines as it takes, none longer than ``measure`` design pixels of type."""

    text: str
    style: Style
    colour: Colour | Rgb = "ink"
    align: Align = "left"
    measure: float = 1e9

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the lines; no text takes no room."""
        tall = pen.leading(self.style) * len(self._lines(pen, width)) if self.text else 0
        return tall, tall

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Write the lines from the top."""
        if not self.text:
            return
        size = pen.size(self.style)
        x = {"left": box.left, "middle": box.left + box.width / 2, "right": box.right}[self.align]
        baseline = box.top + (LEADING + CAPITAL) / 2 * size
        for line in self._lines(pen, box.width):
            pen.write(line, x, baseline, self.style, self.colour, self.align)
            baseline += pen.leading(self.style)

    def _lines(self, pen: Pen, width: int) -> list[str]:
        return pen.wrap(self.text, self.style, min(width, round(min(self.measure, 1e5) * pen.look.type_scale)))


@dataclass(frozen=True)
class Stack:
    """Set blocks one below the other; room beyond their wishes stays below, or around with ``middle``."""

    blocks: tuple[Block, ...]
    middle: bool = False

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the sums of the blocks' heights."""
        pairs = [block.heights(pen, width) for block in self.blocks]
        return sum(least for least, _ in pairs), sum(wished for _, wished in pairs)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Share the height and draw each block."""
        pairs = [block.heights(pen, box.width) for block in self.blocks]
        tall = share(pairs, box.height)
        top = box.top + (max(0, box.height - sum(tall)) // 2 if self.middle else 0)
        for block, height in zip(self.blocks, tall, strict=True):
            block.draw(pen, pygame.Rect(box.left, top, box.width, height))
            top += height


@dataclass(frozen=True)
class Row:
    """Set blocks side by side in parts of the width, or below each other where a part would be too narrow.

    Parameters
    ----------
    blocks, parts : tuple
        Blocks and their parts of the width, as many.
    gap : float
        Between them, in design pixels.
    narrowest : float
        Width that each needs, in design pixels of type.
    """

    blocks: tuple[Block, ...]
    parts: tuple[float, ...]
    gap: float
    narrowest: float

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the tallest block's heights, or the sums."""
        if self.folded(pen, width):
            return self._folded(pen).heights(pen, width)
        widths = self._widths(pen, width)
        pairs = [block.heights(pen, each) for block, each in zip(self.blocks, widths, strict=True)]
        return max(least for least, _ in pairs), max(wished for _, wished in pairs)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw all blocks with the same height."""
        if self.folded(pen, box.width):
            self._folded(pen).draw(pen, box)
            return
        left = box.left
        for block, width in zip(self.blocks, self._widths(pen, box.width), strict=True):
            block.draw(pen, pygame.Rect(left, box.top, width, box.height))
            left += width + pen.px(self.gap)

    def folded(self, pen: Pen, width: int) -> bool:
        """Tell whether the blocks stand below each other."""
        return min(self._widths(pen, width)) < pen.look.type_px(self.narrowest)

    def _folded(self, pen: Pen) -> Stack:
        """Stack the blocks with the gap between them."""
        spaced: list[Block] = []
        for block in self.blocks:
            spaced += [Space(self.gap, self.gap), block] if spaced else [block]
        return Stack(tuple(spaced))

    def _widths(self, pen: Pen, width: int) -> list[int]:
        room = width - pen.px(self.gap) * (len(self.blocks) - 1)
        return [int(room * part / sum(self.parts)) for part in self.parts]


def share(pairs: Sequence[tuple[int, int]], room: int) -> list[int]:
    """Give each block its least height and a part of the room that is left, up to its wish."""
    least, wished = sum(low for low, _ in pairs), sum(high for _, high in pairs)
    if wished <= least:
        return [low for low, _ in pairs]
    part = min(1.0, max(0.0, (room - least) / (wished - least)))
    return [low + int((high - low) * part) for low, high in pairs]
