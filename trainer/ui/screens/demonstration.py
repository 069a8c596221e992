"""A labelled example before the questions."""

from __future__ import annotations

from trainer.session.view import DemonstrationView
from trainer.ui.layout import Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import HEADLINE, SENTENCE
from trainer.ui.widgets.beam import Beam
from trainer.ui.widgets.button import Buttons
from trainer.ui.widgets.page import draw_body, draw_frame
from trainer.ui.widgets.waveform import Wave


def draw_demonstration(pen: Pen, view: DemonstrationView) -> None:
    """Draw what to listen for, both versions with their names, and the way on."""
    body = Stack(
        (
            Words(view.headline, HEADLINE, align="middle", measure=980),
            Space(8, 2),
            Words(view.sentence, SENTENCE, "muted", "middle", measure=720),
            Space(44, 10),
            Beam(view.versions, view.balance, view.sounding),
            Space(36, 8),
            Wave(view.waveform, view.sounding),
        ),
        middle=True,
    )
    dock = Stack((Buttons((view.go_on,), narrowest=160), Space(12, 0)))
    draw_body(pen, draw_frame(pen, view.frame, view.marks), body, dock, fill=True)
