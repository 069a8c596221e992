"""A figure as a PNG file, painted as in the window, without one."""

from __future__ import annotations

from pathlib import Path

import pygame

from trainer.errors import BadValue
from trainer.session.figure import Figure
from trainer.session.palette import Theme
from trainer.ui.lettering import Lettering
from trainer.ui.pen import Pen
from trainer.ui.theme import Look
from trainer.ui.widgets.figure import Drawing

_SCALE = 2.0
_MARGIN = 16.0


def save_figure(figure: Figure, theme: Theme, path: Path) -> None:
    """Paint a figure on the theme's sheet, two pixels to a design pixel, and save it.

    Raises
    ------
    BadValue
        If the file cannot be written.
    """
    pygame.font.init()
    size = [round((side + 2 * _MARGIN) * _SCALE) for side in (figure.width, figure.height)]
    surface, look = pygame.Surface(size), Look(theme, _SCALE, _SCALE)
    surface.fill(look.shape("sheet"))
    inset = round(_MARGIN * _SCALE)
    Drawing(figure).draw(Pen(surface, look, Lettering()), surface.get_rect().inflate(-2 * inset, -2 * inset))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        pygame.image.save(surface, path)
    except (OSError, pygame.error) as error:
        raise BadValue("picture", "file", path, f"a place that can be written ({error})") from None
