"""Histories carried between computers: for `evenhand history`."""

from __future__ import annotations

from pathlib import Path

from trainer.app.world import Conditions
from trainer.errors import BadValue
from trainer.store.history import SqliteStore
from trainer.store.transfer import read_history, write_history


def export_history(conditions: Conditions, file: str, force: bool) -> str:
    """Write all answered trials to a file."""
    path = Path(file)
    if path.exists() and not force:
        raise BadValue("history", "file", path, "a file that is not there yet, or --force")
    store = SqliteStore(conditions.folder)
    try:
        trials = store.list_trials()
    finally:
        store.close()
    write_history(trials, path)
    return f"{_count(len(trials))} written to {path}."


def merge_history(conditions: Conditions, file: str) -> str:
    """Take the trials of a file in; those that are there already stay as they are."""
    trials = read_history(Path(file))
    store = SqliteStore(conditions.folder)
    try:
        before = len(store.list_trials())
        for trial in trials:
            store.keep(trial)
        added = len(store.list_trials()) - before
    finally:
        store.close()
    return f"{_count(added)} added; {len(trials) - added} of {len(trials)} were there already."


def _count(trials: int) -> str:
    return f"{trials} trial{'' if trials == 1 else 's'}"
