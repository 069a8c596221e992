"""The icon of the window: the beam with two weights."""

from __future__ import annotations

import pygame

from trainer.session.palette import shape_colour
from trainer.ui import paint


def draw_icon(size: int) -> pygame.Surface:
    """Draw the icon, ``size`` pixels square."""
    icon = pygame.Surface((size, size), pygame.SRCALPHA, 32)
    ink, ground = shape_colour("paper", "ink"), shape_colour("paper", "ground")
    paint.panel(icon, icon.get_rect(), round(size * 0.2), ground)
    part = size / 64
    for x in (18, 46):
        paint.disc(icon, (x * part, 22 * part), 9 * part, ink)
    icon.fill(ink, pygame.Rect(round(7 * part), round(34 * part), round(50 * part), max(1, round(4 * part))))
    paint.area(icon, [(32 * part, 38 * part), (22 * part, 56 * part), (42 * part, 56 * part)], ink)
    return icon
