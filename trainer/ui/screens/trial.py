"""A question: versions on the beam, the loop, the answers."""

from __future__ import annotations

from trainer.session.view import TrialView
from trainer.ui.layout import Space, Stack, Words
from trainer.ui.pen import Pen
from trainer.ui.theme import QUESTION
from trainer.ui.widgets.beam import Beam
from trainer.ui.widgets.button import Buttons
from trainer.ui.widgets.page import draw_body, draw_frame
from trainer.ui.widgets.waveform import Wave


def draw_trial(pen: Pen, view: TrialView) -> None:
    """Draw one question in the middle of the page."""
    body = Stack(
        (
            Beam(view.versions, view.balance, view.sounding),
            Space(48, 8),
            Wave(view.waveform, view.sounding),
            Space(36, 8),
            Words(view.question, QUESTION, align="middle", measure=860),
            Space(20, 8),
            Buttons(view.answers),
        ),
        middle=True,
    )
    draw_body(pen, draw_frame(pen, view.frame, view.marks), body, fill=True)
