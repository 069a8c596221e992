"""The end of a run: what was learnt about the ear."""

from __future__ import annotations

from trainer.session.view import EndView
from trainer.ui.layout import Block, Row, Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import HEADLINE, SENTENCE
from trainer.ui.widgets.button import Buttons
from trainer.ui.widgets.card import Card
from trainer.ui.widgets.figure import Drawing
from trainer.ui.widgets.page import draw_body, draw_frame


def draw_end(pen: Pen, view: EndView) -> None:
    """Draw the words on the left and the ear on the right."""
    blocks: list[Block] = [Words(view.headline, HEADLINE), Space(12, 6)]
    for sentence in view.sentences:
        blocks += [Words(sentence, SENTENCE, measure=600), Space(12, 6)]
    buttons = Buttons(view.buttons, "left")
    room = draw_frame(pen, view.frame, view.marks)
    ear = (Card(view.ear_title, Drawing(view.ear), view.ear_caption),) if view.ear.width > 0 else ()
    whole = _set_beside((*blocks, Space(20, 12), buttons), ear)
    if whole.heights(pen, room.width)[0] <= room.height:
        draw_body(pen, room, whole)
    else:
        draw_body(pen, room, _set_beside(tuple(blocks), ear), Stack((buttons, Space(8, 0))))


def _set_beside(words: tuple[Block, ...], ear: tuple[Card, ...]) -> Block:
    """Set the words beside the picture, if there is one."""
    return Row((Stack(words), *ear), (560, 600), 40, 330) if ear else Stack(words)
