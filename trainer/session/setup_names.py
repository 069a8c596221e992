"""Listening set-ups by name, as the settings and the history have them: listed, added, used, noted."""

from __future__ import annotations

import json

from trainer.errors import BadValue
from trainer.exercise.history import SILENT_SETUP
from trainer.exercise.schema import name_nearest
from trainer.ports import Store

DEFAULT_SETUP = "headphones"
LONGEST_NAME = 40
LONGEST_NOTE = 120
USED, ADDED, NOTES = "setup", "setups", "setup_notes"


def read_used(store: Store) -> str:
    """Read the name of the set-up that answers count for."""
    return store.read_setting(USED, DEFAULT_SETUP)


def list_names(store: Store) -> tuple[str, ...]:
    """List the names that were added or practised on, each once."""
    practised = [trial.setup for trial in store.list_trials() if trial.setup != SILENT_SETUP]
    return tuple(dict.fromkeys((DEFAULT_SETUP, read_used(store), *_read_added(store), *practised)))


def add_name(store: Store, name: str) -> None:
    """Add a set-up.

    Raises
    ------
    BadValue
        If it is no name, or there is one of that name.
    """
    if not (1 <= len(name) <= LONGEST_NAME and name.isprintable() and name.strip()):
        raise BadValue("setup", "name", name or "nothing", f"a name of 1 to {LONGEST_NAME} characters")
    names = list_names(store)
    if name in names or name == SILENT_SETUP:
        raise BadValue("setup", "name", name, f"a name other than {', '.join((*names, SILENT_SETUP))}")
    store.write_setting(ADDED, json.dumps([*_read_added(store), name]))


def use_name(store: Store, name: str) -> None:
    """Take a set-up into use.

    Raises
    ------
    BadValue
        If there is none of that name.
    """
    if name not in list_names(store):
        raise BadValue("setup", "name", name, name_nearest(name, list_names(store)))
    store.write_setting(USED, name)


def read_note(store: Store, name: str) -> str:
    """Read what was noted of a set-up; empty where nothing was."""
    return _read_notes(store).get(name, "")


def write_note(store: Store, name: str, note: str) -> None:
    """Note something of a set-up, such as where its volume stands; nothing takes the note away."""
    kept = {other: text for other, text in _read_notes(store).items() if other != name}
    if note.strip():
        kept[name] = note.strip()[:LONGEST_NOTE]
    store.write_setting(NOTES, json.dumps(kept, ensure_ascii=False))


def _read_added(store: Store) -> list[str]:
    try:
        return [str(name) for name in json.loads(store.read_setting(ADDED, "[]"))]
    except (ValueError, TypeError):
        return []


def _read_notes(store: Store) -> dict[str, str]:
    try:
        return {str(name): str(note) for name, note in json.loads(store.read_setting(NOTES, "{}")).items()}
    except (ValueError, TypeError, AttributeError):
        return {}
