"""Histories carried between computers: for `evenhand history`."""

from __future__ import annotations

from pathlib import Path

from trainer.app.equipment import take_in, write_out
from trainer.app.world import Conditions, open_store
from trainer.files.sound_writing import refuse_overwriting


def export_history(conditions: Conditions, file: str, force: bool) -> str:
    """Write all answered trials to a file."""
    path = Path(file)
    refuse_overwriting([path], force)
    with open_store(conditions) as store:
        return write_out(store, path)


def merge_history(conditions: Conditions, file: str) -> str:
    """Take the trials of a file in; those that are there already stay as they are."""
    with open_store(conditions) as store:
        return take_in(store, Path(file))
