"""Draw every example view to PNG files, to be looked at: ``python -m tests.ui.look FOLDER [NAME ...]``."""

from __future__ import annotations

import os
import sys
from pathlib import Path

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

import pygame

from tests.ui import sample_views, samples
from trainer.session.pages import View
from trainer.ui.lettering import Lettering
from trainer.ui.pen import Pen
from trainer.ui.screens.view import draw_view
from trainer.ui.theme import choose_theme
from trainer.ui.widgets.beam import draw_waiting

SIZES = ((1280, 800), (1920, 1080), (960, 600))


def draw(view: View, size: tuple[int, int], lettering: Lettering | None = None) -> Pen:
    """Draw a view on a surface of its own."""
    surface = pygame.Surface(size)
    frame = view.frame
    pen = Pen(surface, choose_theme(frame.theme, size, frame.text_percent), lettering or Lettering())
    draw_view(pen, view)
    if pen.waiting is not None:
        draw_waiting(surface, pen.look, pen.waiting, 0.3)
    return pen


def main(folder: Path, names: list[str]) -> None:
    """Write a picture for each view, size, theme and, at the first size, text size."""
    folder.mkdir(parents=True, exist_ok=True)
    pygame.display.init()
    pygame.font.init()
    lettering = Lettering()
    for name, view in samples.all_views().items():
        if names and name not in names:
            continue
        for theme in ("paper", "night"):
            for size in SIZES:
                for percent in (100, 80, 150, 200) if size == SIZES[0] and theme == "paper" else (100,):
                    open_keys, notice = view.frame.keys_open, view.frame.notice
                    pen = draw(sample_views.restyle(view, theme, percent, open_keys, notice), size, lettering)
                    pygame.image.save(pen.surface, folder / f"{name}-{size[0]}-{theme}-{percent}.png")


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
