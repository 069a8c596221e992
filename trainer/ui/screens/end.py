"""The end of a run: what was learnt about the ear."""

from __future__ import annotations

from trainer.session.view import EndView
from trainer.ui.layout import Block, Row, Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import HEADLINE, SENTENCE
from trainer.ui.widgets.button import Buttons
from trainer.ui.widgets.card import Card
from trainer.ui.widgets.figure import Drawing
from trainer.ui.widgets.page import Page, draw_page


def draw_end(pen: Pen, view: EndView) -> None:
    """Draw the words on the left and the ear on the right."""
    blocks: list[Block] = [Words(view.headline, HEADLINE), Space(12, 6)]
    for sentence in view.sentences:
        blocks += [Words(sentence, SENTENCE, measure=600), Space(12, 6)]
    words: Block = Stack(tuple(blocks))
    if view.ear.width > 0:
        words = Row((words, Card(view.ear_title, Drawing(view.ear), view.ear_caption)), (560, 600), 40, 330)
    draw_page(pen, Page(view.frame, words, Stack((Buttons(view.buttons, "left"), Space(8, 0))), view.marks))
