"""What this computer offers, and histories carried to others and back."""

from __future__ import annotations

from pathlib import Path

from trainer.errors import BadValue
from trainer.playback.chain import describe_outputs
from trainer.store.history import SqliteStore
from trainer.store.transfer import read_history, write_history

MOST_DEVICES = 6


class HomeEquipment:
    """Describe the sound outputs, and carry the history of one data folder.

    Parameters
    ----------
    folder : Path
        The data folder.
    store : SqliteStore
        Its history.
    """

    def __init__(self, folder: Path, store: SqliteStore) -> None:
        self._folder, self._store = folder, store

    @property
    def data_folder(self) -> str:
        """The data folder's path."""
        return str(self._folder)

    def describe_outputs(self) -> tuple[str, ...]:
        """Describe every kind of output, a line each; nothing is opened."""
        return tuple(
            f"{found.kind} {found.library}: {found.fault or ', '.join(found.devices[:MOST_DEVICES]) or 'no outputs'}"
            for found in describe_outputs()
        )

    def export_history(self, file: str) -> str:
        """Write all answers to a new file; gives a sentence."""
        if Path(file).exists():
            raise BadValue("history", "file", file, "a file that does not exist yet")
        return write_out(self._store, Path(file))

    def merge_history(self, file: str) -> str:
        """Take the answers of a file in; gives a sentence."""
        return take_in(self._store, Path(file))


def write_out(store: SqliteStore, path: Path) -> str:
    """Write all answered trials to a file; gives a sentence."""
    trials = store.list_trials()
    write_history(trials, path)
    return f"{_count(len(trials))} written to {path}."


def take_in(store: SqliteStore, path: Path) -> str:
    """Take the trials of a file in; those that are there already stay as they are. Gives a sentence."""
    trials = read_history(path)
    before = len(store.list_trials())
    for trial in trials:
        store.keep(trial)
    added = len(store.list_trials()) - before
    return f"{_count(added)} added; {len(trials) - added} of {len(trials)} were there already."


def _count(trials: int) -> str:
    return f"{trials} trial{'' if trials == 1 else 's'}"
