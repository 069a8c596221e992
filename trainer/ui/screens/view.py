"""Draw any view."""

from __future__ import annotations

from trainer.session.pages import PageView, View
from trainer.session.view import (
    DemonstrationView,
    EndView,
    MessageView,
    RevealView,
    TodayView,
    TrialView,
)
from trainer.ui.keymap import show_live_keys
from trainer.ui.pen import Pen
from trainer.ui.screens.demonstration import draw_demonstration
from trainer.ui.screens.end import draw_end
from trainer.ui.screens.message import draw_message
from trainer.ui.screens.page import draw_page
from trainer.ui.screens.reveal import draw_reveal
from trainer.ui.screens.today import draw_today
from trainer.ui.screens.trial import draw_trial
from trainer.ui.widgets.keylist import draw_key_list


def draw_view(pen: Pen, view: View) -> None:
    """Draw the screen of a view and, where it is open, the list of keys above it."""
    if view.frame.keys_open:
        pen.pointer, pen.focus = None, None
    if isinstance(view, TodayView):
        draw_today(pen, view)
    elif isinstance(view, TrialView):
        draw_trial(pen, view)
    elif isinstance(view, DemonstrationView):
        draw_demonstration(pen, view)
    elif isinstance(view, RevealView):
        draw_reveal(pen, view)
    elif isinstance(view, EndView):
        draw_end(pen, view)
    elif isinstance(view, MessageView):
        draw_message(pen, view)
    elif isinstance(view, PageView):
        draw_page(pen, view)
    if view.frame.keys_open:
        draw_key_list(pen, show_live_keys(view) if isinstance(view, PageView) else view.frame)
