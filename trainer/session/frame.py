"""What every screen has in common."""

from __future__ import annotations

from trainer.session.state import State
from trainer.session.view import Frame, Key
from trainer.session.words import NO_SOUND_RUN
from trainer.session.world import World


def make_frame(state: State, world: World, title: str, subtitle: str, keys: tuple[Key, ...], footer: str = "") -> Frame:
    """Make a screen's frame: the last problem, or what is wrong with the sound, stands in its notice."""
    output = world.player.output
    notice = state.message or output.note or (NO_SOUND_RUN if output.silent else "")
    return Frame(title, subtitle, keys, notice, footer, state.theme, state.text_percent, state.keys_open)
