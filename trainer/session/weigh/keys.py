"""The keys of a weighing."""

from __future__ import annotations

from dataclasses import replace

from trainer.session import intents
from trainer.session.keys import ALL_KEYS, ARROWS, DIFFERENCE, ENTER, SPACE, bind_versions
from trainer.session.view import Key

BACK = Key("Esc", "back", (("escape", intents.GoBack()),))
COMPLETE = Key("Tab", "complete the path", (), True)
WORKING = (Key("Esc", "cancel", (("escape", intents.GoBack()),)), ALL_KEYS)
FILES = (ENTER, COMPLETE, BACK, ALL_KEYS)
PAGE = (ENTER, BACK, ALL_KEYS)


def list_name_keys(count: int) -> tuple[Key, ...]:
    """Bind listening with names."""
    return (bind_versions(count), replace(DIFFERENCE, does="only what differs"), SPACE, ARROWS, BACK, ALL_KEYS)
