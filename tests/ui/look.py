"""Draw every example view to PNG files, to be looked at: ``python -m tests.ui.look FOLDER [NAME ...]``.

With ``--store`` in the place of a folder it makes the stored pictures of the main screens anew, which the tests
compare with; with ``--reached`` before it, it draws the views that a person comes to, instead of examples.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pygame

from tests.ui import sample_views, samples
from tests.ui.canvas import draw
from tests.ui.reached_views import reach_all
from tests.ui.stored import store_all
from trainer.files.library import list_drills
from trainer.session.pages import View
from trainer.session.palette import Theme
from trainer.ui.lettering import Lettering

SIZES = ((1280, 800), (1920, 1080), (960, 600))
THEMES: tuple[Theme, ...] = ("paper", "night")


def main(arguments: list[str]) -> None:
    """Store, or draw."""
    pygame.display.init()
    pygame.font.init()
    if arguments == ["--store"]:
        store_all()
        return
    views = samples.all_views()
    if arguments[:1] == ["--reached"]:
        arguments = arguments[1:]
        views = reach_all(list_drills(Path(arguments[0])))
    folder, names = Path(arguments[0]), arguments[1:]
    folder.mkdir(parents=True, exist_ok=True)
    draw_all({name: view for name, view in views.items() if not names or name in names}, folder)


def draw_all(views: dict[str, View], folder: Path) -> None:
    """Write a picture for each view, size, theme and, at the first size, text size."""
    lettering = Lettering()
    for name, view in views.items():
        for theme in THEMES:
            for size in SIZES:
                for percent in (100, 80, 150, 250) if size == SIZES[0] and theme == "paper" else (100,):
                    open_keys, notice = view.frame.keys_open, view.frame.notice
                    pen = draw(sample_views.restyle(view, theme, percent, open_keys, notice), size, lettering)
                    pygame.image.save(pen.surface, folder / f"{name}-{size[0]}-{theme}-{percent}.png")


if __name__ == "__main__":
    main(sys.argv[1:])
