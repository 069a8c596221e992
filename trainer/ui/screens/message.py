"""A page of plain sentences."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from trainer.session.view import MessageView
from trainer.ui.layout import Block, Space, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import HEADLINE, SENTENCE
from trainer.ui.widgets.button import Buttons
from trainer.ui.widgets.page import draw_frame, draw_with_buttons

WAITING = 120
_COLUMN = 720


@dataclass(frozen=True)
class Waiting:
    """Leave room for the balance that rocks while something is worked on."""

    def heights(self, pen: Pen, width: int) -> tuple[int, int]:
        """Give the size of the balance."""
        return pen.px(WAITING * 0.6), pen.px(WAITING)

    def draw(self, pen: Pen, box: pygame.Rect) -> None:
        """Note where it rocks; the window draws it, as it moves."""
        place = pygame.Rect(box.left, box.top, box.height, box.height)
        pen.waiting = place if pen.surface.get_clip().contains(place) else None


def draw_message(pen: Pen, view: MessageView) -> None:
    """Draw headline, sentences and buttons in a column of reading width."""
    blocks: list[Block] = [Waiting(), Space(8)] if view.busy else []
    blocks += [Words(view.headline, HEADLINE), Space(16, 8)]
    for sentence in view.sentences:
        blocks += [Words(sentence, SENTENCE, measure=680), Space(12, 6)]
    room = draw_frame(pen, view.frame)
    column = min(room.width, max(pen.px(_COLUMN), pen.look.type_px(_COLUMN)))
    room = pygame.Rect(room.left + (room.width - column) // 2, room.top, column, room.height)
    buttons: Block = Buttons(view.buttons, "left", narrowest=150) if view.buttons else Space(0, 0)
    draw_with_buttons(pen, room, tuple(blocks), buttons)
