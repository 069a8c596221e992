"""Listening set-ups by name: for `evenhand setup`."""

from __future__ import annotations

from typing import Any

from trainer.app.world import Conditions, list_known_drills, open_store
from trainer.exercise.drill import REACHES
from trainer.exercise.reach import find_answer, find_check
from trainer.session.setup_names import add_name, list_names, read_used, use_name

PLAYED = {"low": "the lowest bass", "top": "the highest top"}


def list_setups(conditions: Conditions) -> list[dict[str, Any]]:
    """List the set-ups: which one is in use, how many trials it has, and what it was said to play."""
    with open_store(conditions) as store:
        trials, names, used = store.list_trials(), list_names(store), read_used(store)
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
        add_name(store, name)
    return f"{name} is added. `evenhand setup use` with its name takes it into use."


def use_setup(conditions: Conditions, name: str) -> str:
    """Take a set-up into use from now on."""
    with open_store(conditions) as store:
        use_name(store, name)
    return f"{name} is in use; answers count for it from now on."
