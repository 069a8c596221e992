"""The line that is typed on a page: added to, completed, erased."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.state import State
from trainer.session.view import Button
from trainer.session.world import World

LONGEST_LINE = 1000


def act_on_line(state: State, intent: Intent, world: World, paths: bool = False) -> State | None:
    """Change the typed line; None where the intent is about something else.

    Parameters
    ----------
    state, intent, world
        As for every place.
    paths : bool
        Whether the line is a path, which can be completed.
    """
    if isinstance(intent, intents.TypeText):
        kept = "".join(character for character in intent.text if character.isprintable())
        return replace(state, typed=(state.typed + kept)[:LONGEST_LINE])
    if isinstance(intent, intents.SetText):
        return replace(state, typed=intent.text[:LONGEST_LINE])
    if isinstance(intent, intents.EraseText):
        return replace(state, typed="" if intent.whole else state.typed[:-1])
    if isinstance(intent, intents.CompleteText) and paths:
        common = begin_alike(world.files.complete(state.typed))
        return replace(state, typed=common or state.typed)
    return None


def offer_paths(state: State, world: World) -> tuple[Button, ...]:
    """Offer what a typed path may be completed to."""
    if not state.typed:
        return ()
    found = world.files.complete(state.typed)
    return tuple(Button(_shorten(path), intents.SetText(path)) for path in found if path != state.typed)


def begin_alike(texts: Sequence[str]) -> str:
    """Give the beginning that texts share."""
    if not texts:
        return ""
    first, last = min(texts), max(texts)
    same = next((place for place, pair in enumerate(zip(first, last, strict=False)) if pair[0] != pair[1]), None)
    return first[:same] if same is not None else min(first, last, key=len)


def _shorten(path: str) -> str:
    """Name a path by its last part."""
    return path.rstrip("/\\").replace("\\", "/").rsplit("/", 1)[-1] + ("/" if path.endswith(("/", "\\")) else "")
