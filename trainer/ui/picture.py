"""A figure as a PNG file, painted as in the window, without one."""

from __future__ import annotations

import errno
from pathlib import Path

import pygame

from trainer.session.figure import Figure
from trainer.session.palette import Theme
from trainer.ui.lettering import Lettering
from trainer.ui.pen import Pen
from trainer.ui.theme import Look
from trainer.ui.widgets.figure import Drawing

_SCALE = 2.0
_MARGIN = 16.0


def save_figure(figure: Figure, theme: Theme, place: Path) -> None:
    """Paint a figure on the theme's sheet, two pixels to a design pixel, and save it as PNG.

    Parameters
    ----------
    figure : Figure
        What is drawn.
    theme : str
        Whose colours.
    place : Path
        Where to, whatever its suffix: it may be a place beside the file, until all of it is written.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    pygame.font.init()
    size = [round((side + 2 * _MARGIN) * _SCALE) for side in (figure.width, figure.height)]
    surface, look = pygame.Surface(size), Look(theme, _SCALE, _SCALE)
    surface.fill(look.shape("sheet"))
    inset = round(_MARGIN * _SCALE)
    Drawing(figure).draw(Pen(surface, look, Lettering()), surface.get_rect().inflate(-2 * inset, -2 * inset))
    with place.open("wb") as file:
        try:
            pygame.image.save(surface, file, "figure.png")
        except pygame.error as error:
            raise OSError(errno.EIO, str(error), str(place)) from None
