"""The answer: what was done, where the ear stands, and the loop to hear it again."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.figure import Figure, Mark
from trainer.session.view import Button, RevealView, Sounding
from trainer.ui.layout import Block, Row, Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import HEADLINE, LABEL, SENTENCE
from trainer.ui.widgets.beam import sounds
from trainer.ui.widgets.button import Buttons, Sound
from trainer.ui.widgets.card import Card
from trainer.ui.widgets.figure import Drawing, paint_mark
from trainer.ui.widgets.page import draw_body, draw_frame
from trainer.ui.widgets.receipt import Receipt
from trainer.ui.widgets.waveform import Wave, widest


@dataclass(frozen=True)
class Verdict:
    """Write the headline beside a dot or a cross, as in the row of marks."""

    text: str
    right: bool | None

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the headline."""
        return Words(self.text, HEADLINE).heights(pen, width - self._inset(pen))

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw the mark and the headline."""
        inset, radius = self._inset(pen), pen.size(HEADLINE) * 0.27
        wrong = Mark((0, 0), "vermilion", shape="cross")
        mark = Mark((0, 0), "blue") if self.right is None else Mark((0, 0), "green") if self.right else wrong
        at = (box.left + radius + 1, box.top + pen.leading(HEADLINE) * 0.52)
        paint_mark(pen.surface, mark, at, radius, pen.look.shape(mark.colour))
        Words(self.text, HEADLINE).draw(pen, pygame.Rect(box.left + inset, box.top, box.width - inset, box.height))

    def _inset(self, pen: Pen) -> int:
        return round(pen.size(HEADLINE) * 0.9)


@dataclass(frozen=True)
class Bar:
    """Set the versions and the way on side by side, from margin to margin, or in rows where they do not fit."""

    versions: Buttons
    go_on: Buttons

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the height of the one row, or of both."""
        row, width = self._row(pen, width)
        return row.heights(pen, width)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw as wide as the page, so that the way on stands at one place; rows are as wide as the loop."""
        row, width = self._row(pen, box.width)
        row.draw(pen, pygame.Rect(box.left + (box.width - width) // 2, box.top, width, box.height))

    def _row(self, pen: Pen, whole: int) -> tuple[Block, int]:
        """Give what is drawn and its width."""
        way, narrow = self.go_on.needed(pen), min(whole, widest(pen))
        if self.versions.needed(pen) + way + pen.px(16) <= whole:
            return Row((self.versions, self.go_on), (whole - way - pen.px(16), way), 16, 0), whole
        left = narrow - way - pen.px(16)
        if left > 0 and self.versions.heights(pen, left) == self.versions.heights(pen, narrow):
            return Row((self.versions, self.go_on), (left, way), 16, 0), narrow
        return Stack((self.versions, Space(12, 8), self.go_on)), narrow


@dataclass(frozen=True)
class Sought:
    """Note where a block stands, as it may have to be brought into sight."""

    block: Block

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the block's heights."""
        return self.block.heights(pen, width)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Draw it as it is."""
        pen.want("chosen", box)
        self.block.draw(pen, box)


def draw_reveal(pen: Pen, view: RevealView) -> None:
    """Draw verdict, pictures and, at the foot, the loop with its versions."""
    words = Stack(
        (
            Verdict(view.headline, view.right),
            Words(view.sentence, SENTENCE, "ink", measure=1000),
            Space(4, 2),
            Words(view.teaching, SENTENCE, "muted", measure=1000),
        )
    )
    body = Stack((words, Space(20, 12), _pictures(view)))
    bar = Bar(
        Buttons(view.versions, "left", LABEL, 44, 64, sounds=_sounds(view.versions, view.sounding)),
        Buttons((*((view.stop,) if view.stop else ()), view.go_on), "right", tall=44, narrowest=128),
    )
    dock = Stack((Wave(view.waveform, view.sounding, 84), Space(14, 8), bar, Space(8, 0)))
    draw_body(pen, draw_frame(pen, view.frame, view.marks), body, dock)


def _pictures(view: RevealView) -> Block:
    """Set the picture of the move beside the ear, or beside the receipt while that is open."""
    cards: list[Block] = []
    if _drawn(view.done):
        cards.append(Card(view.done_title, Drawing(view.done), view.done_caption))
    if view.receipt_open:
        cards.append(Sought(Card(view.receipt_title, Receipt(view.receipt))))
    elif _drawn(view.ear):
        cards.append(Card(view.ear_title, Drawing(view.ear), view.ear_caption))
    return Row(tuple(cards), (1.0,) * len(cards), 20, 360) if cards else Space(0, 0)


def _drawn(figure: Figure) -> bool:
    return figure.width > 0 and figure.height > 0


def _sounds(versions: tuple[Button, ...], sounding: Sounding) -> tuple[Sound, ...]:
    """Tell for each version whether it runs or is held."""
    state: Sound = "running" if sounding.playing else "held"
    return tuple(state if sounds(version, sounding) else "none" for version in versions)
