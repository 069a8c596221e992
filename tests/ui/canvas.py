"""A view drawn on a surface of its own."""

from __future__ import annotations

import os

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

import pygame

from trainer.session.pages import View
from trainer.ui.lettering import Lettering
from trainer.ui.pen import Pen
from trainer.ui.screens.view import draw_view
from trainer.ui.theme import choose_theme
from trainer.ui.widgets.beam import draw_waiting


def draw(view: View, size: tuple[int, int], lettering: Lettering | None = None) -> Pen:
    """Draw a view on a surface of its own."""
    surface = pygame.Surface(size)
    frame = view.frame
    pen = Pen(surface, choose_theme(frame.theme, size, frame.text_percent), lettering or Lettering())
    draw_view(pen, view)
    if pen.waiting is not None:
        draw_waiting(surface, pen.look, pen.waiting, 0.3)
    return pen
