"""What every screen has in common."""

from __future__ import annotations

from dataclasses import replace

from trainer.session.intents import GoTo
from trainer.session.state import State
from trainer.session.view import Button, Frame, Key
from trainer.session.words import NO_SOUND_RUN
from trainer.session.world import World

# The parts of the program, in the order in which they are offered, and the key of each.
TITLES = {
    "today": "Today",
    "drills": "Drills",
    "mixes": "My mixes",
    "weigh": "Weigh",
    "progress": "Progress",
    "setup": "Setup",
}


def make_frame(state: State, world: World, title: str, subtitle: str, keys: tuple[Key, ...], footer: str = "") -> Frame:
    """Make a screen's frame: the last problem, or what is wrong with the sound, stands in its notice."""
    output = world.player.output
    notice = state.message or output.note or (NO_SOUND_RUN if output.silent else "")
    return Frame(title, subtitle, keys, notice, footer, state.theme, state.text_percent, state.keys_open)


def make_place_frame(state: State, world: World, keys: tuple[Key, ...], footer: str = "") -> Frame:
    """Make the frame of a part of the program: from here all parts can be gone to."""
    ways = tuple(
        Key(f"F{number}", f"go to {title}", ((f"f{number}", GoTo(place)),), shown=False)
        for number, (place, title) in enumerate(TITLES.items(), 2)
        if place != state.screen
    )
    places = tuple(Button(title, GoTo(place), selected=place == state.screen) for place, title in TITLES.items())
    shown = places if len(places) > 1 else ()
    return replace(make_frame(state, world, "", "", (*keys, *ways), footer), places=shown)
