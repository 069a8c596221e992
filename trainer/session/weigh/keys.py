"""The keys of a weighing."""

from __future__ import annotations

from dataclasses import replace

from trainer.session import intents
from trainer.session.keys import ALL_KEYS, ARROWS, DIFFERENCE, SPACE, bind_enter, bind_versions
from trainer.session.view import Key

BACK = Key("Esc", "back", (("escape", intents.GoBack()),))
COMPLETE = Key("Tab", "complete the path", (), True)
WORKING = (Key("Esc", "cancel", (("escape", intents.GoBack()),)), ALL_KEYS)
DIFFERENCES = (bind_enter("back", intents.GoBack()), BACK, ALL_KEYS)


def list_file_keys(enough: bool) -> tuple[Key, ...]:
    """Bind the page on which bounces are named."""
    does = "add the path; without one, put them on the beam" if enough else "add the path"
    return (bind_enter(does, intents.GoOn()), COMPLETE, BACK, ALL_KEYS)


def list_beam_keys(asks: bool) -> tuple[Key, ...]:
    """Bind the page of bounces on the beam."""
    enter = bind_enter("begin; with a place typed, go there" if asks else "go to the typed place", intents.GoOn())
    return (enter, BACK, ALL_KEYS)


def list_verdict_keys(asks: bool) -> tuple[Key, ...]:
    """Bind a verdict."""
    return (bind_enter("begin what comes next" if asks else "back to the beam", intents.GoOn()), BACK, ALL_KEYS)


def list_name_keys(count: int) -> tuple[Key, ...]:
    """Bind listening with names."""
    return (bind_versions(count), replace(DIFFERENCE, does="only what differs"), SPACE, ARROWS, BACK, ALL_KEYS)
