"""Listening set-ups by name: for `evenhand setup`."""

from __future__ import annotations

import json
from typing import Any

from trainer.app.world import DEFAULT_SETUP, Conditions, list_known_drills, open_store
from trainer.errors import BadValue
from trainer.exercise.drill import REACHES
from trainer.exercise.history import SILENT_SETUP
from trainer.exercise.reach import find_answer, find_check
from trainer.exercise.schema import name_nearest
from trainer.store.history import SqliteStore

PLAYED = {"low": "the lowest bass", "top": "the highest top"}


def list_setups(conditions: Conditions) -> list[dict[str, Any]]:
    """List the set-ups: which one is in use, how many trials it has, and what it was said to play."""
    with open_store(conditions) as store:
        trials, names, used = store.list_trials(), _read_names(store), _read_used(store)
    checks = {reach: find_check(list_known_drills(conditions).values(), reach) for reach in REACHES}
    return [
        {
            "setup": name,
            "in_use": name == used,
            "trials": sum(trial.setup == name for trial in trials),
            "plays": {reach: find_answer(check, trials, name) for reach, check in checks.items() if check},
        }
        for name in names
    ]


def word_setups(setups: list[dict[str, Any]]) -> list[str]:
    """Word them, a line to each."""
    lines = []
    for each in setups:
        said = [
            f"{PLAYED[reach]}: {'not asked yet' if answer is None else answer}"
            for reach, answer in each["plays"].items()
        ]
        use = "in use; " if each["in_use"] else ""
        lines.append(f"{each['setup']}: {use}{each['trials']} trials; {'; '.join(said)}")
    return lines


def add_setup(conditions: Conditions, name: str) -> str:
    """Add a set-up by name."""
    with open_store(conditions) as store:
        names = _read_names(store)
        if name in names or name == SILENT_SETUP:
            raise BadValue("setup", "name", name, f"a name other than {', '.join((*names, SILENT_SETUP))}")
        store.write_setting("setups", json.dumps([*names, name]))
    return f"{name} is added. `evenhand setup use` with its name takes it into use."


def use_setup(conditions: Conditions, name: str) -> str:
    """Take a set-up into use from now on."""
    with open_store(conditions) as store:
        names = _read_names(store)
        if name not in names:
            raise BadValue("setup", "name", name, name_nearest(name, names))
        store.write_setting("setup", name)
    return f"{name} is in use; answers count for it from now on."


def _read_used(store: SqliteStore) -> str:
    return store.read_setting("setup", DEFAULT_SETUP)


def _read_names(store: SqliteStore) -> list[str]:
    """Read the names that were added or practised on."""
    try:
        added = json.loads(store.read_setting("setups", "[]"))
    except ValueError:
        added = []
    practised = [trial.setup for trial in store.list_trials() if trial.setup != SILENT_SETUP]
    names = [DEFAULT_SETUP, _read_used(store), *(str(name) for name in added), *practised]
    return list(dict.fromkeys(names))
