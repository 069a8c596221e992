"""Histories carried between computers: for `evenhand history`."""

from __future__ import annotations

from pathlib import Path

from trainer.app.world import Conditions, open_store
from trainer.files.sound_writing import refuse_overwriting
from trainer.store.transfer import read_history, write_history


def export_history(conditions: Conditions, file: str, force: bool) -> str:
    """Write all answered trials to a file."""
    path = Path(file)
    refuse_overwriting([path], force)
    with open_store(conditions) as store:
        trials = store.list_trials()
    write_history(trials, path)
    return f"{_count(len(trials))} written to {path}."


def merge_history(conditions: Conditions, file: str) -> str:
    """Take the trials of a file in; those that are there already stay as they are."""
    trials = read_history(Path(file))
    with open_store(conditions) as store:
        before = len(store.list_trials())
        for trial in trials:
            store.keep(trial)
        added = len(store.list_trials()) - before
    return f"{_count(added)} added; {len(trials) - added} of {len(trials)} were there already."


def _count(trials: int) -> str:
    return f"{trials} trial{'' if trials == 1 else 's'}"
