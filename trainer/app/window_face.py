"""The program in its window."""

from __future__ import annotations

import importlib
from functools import partial
from threading import Thread

from trainer.app.world import Conditions, DrillWish, build_world
from trainer.session.program import Opening
from trainer.session.screens import Program
from trainer.session.world import World
from trainer.ui.window import Window

# What the first answer and the first visit ask for; reading it takes a second or two on a slow machine.
SOON_NEEDED = (
    "scipy.special",
    "scipy.interpolate",
    "scipy.signal",
    "trainer.session.mixes.flow",
    "trainer.session.weigh.pages",
    "trainer.files.sheet_page",
)


def run_window(conditions: Conditions, wish: DrillWish) -> None:
    """Open the window: on the first screen, or on a drill where one was named."""
    with build_world(conditions, wish, in_process=False) as world:
        Window(Program(world, Opening(wish.drill or ""))).run(partial(get_ready, world))


def open_opening(conditions: Conditions, opening: Opening) -> None:
    """Open the window on a mix or on bounces."""
    with build_world(conditions, DrillWish(), in_process=False) as world:
        Window(Program(world, opening)).run(partial(get_ready, world))


def get_ready(world: World) -> None:
    """Begin, once the first picture stands, what the first trial and the first answer would wait for."""
    world.workshop.open()
    Thread(target=lambda: [importlib.import_module(name) for name in SOON_NEEDED], daemon=True).start()
