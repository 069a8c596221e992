"""The history: every answered trial, kept the moment it is answered."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import fields
from pathlib import Path
from typing import Any

from trainer.errors import BadValue
from trainer.exercise.history import StoredTrial
from trainer.store.database import open_database

COLUMNS = tuple(field.name for field in fields(StoredTrial))
SHORTEST_NAME = 6
AS_JSON = ("asked", "measured")
AS_BOOL = ("correct", "scored")
_QUOTED = ", ".join(f'"{name}"' for name in COLUMNS)


class SqliteStore:
    """Keep trials and settings in one SQLite file.

    Parameters
    ----------
    folder : Path
        The data folder; it exists.

    Raises
    ------
    BadValue
        If the history cannot be opened.
    """

    def __init__(self, folder: Path) -> None:
        self._connection = open_database(folder)
        self._listed: tuple[StoredTrial, ...] | None = None
        self._version = -1

    def keep(self, trial: StoredTrial) -> None:
        """Write a trial; it is on the disk when this returns. The same trial twice is kept once."""
        values = [_to_column(name, getattr(trial, name)) for name in COLUMNS]
        marks = ", ".join("?" * len(COLUMNS))
        self._run(f"INSERT OR IGNORE INTO trials ({_QUOTED}) VALUES ({marks})", values)
        listed = self._listed or ()
        follows = bool(listed) and (listed[-1].answered_at, listed[-1].trial) < (trial.answered_at, trial.trial)
        self._listed = (*listed, trial) if follows else None

    def list_trials(self) -> tuple[StoredTrial, ...]:
        """List all trials in the order of their answers; read again only when another program has written."""
        version = int(self._run("PRAGMA data_version")[0][0])
        if self._listed is None or version != self._version:
            rows = self._run(f"SELECT {_QUOTED} FROM trials ORDER BY answered_at, trial")
            self._listed, self._version = tuple(_to_trial(row) for row in rows), version
        return self._listed

    def find_trial(self, trial: str) -> StoredTrial | None:
        """Find a trial by its identifier, or by the first six characters of it or more if no other begins so."""
        rows = self._run(f"SELECT {_QUOTED} FROM trials WHERE trial = ?", [trial])
        if not rows and len(trial) >= SHORTEST_NAME:
            rows = self._run(f"SELECT {_QUOTED} FROM trials WHERE substr(trial, 1, ?) = ?", [len(trial), trial])
        return _to_trial(rows[0]) if len(rows) == 1 else None

    def read_setting(self, name: str, default: str) -> str:
        """Read a setting."""
        rows = self._run("SELECT value FROM settings WHERE name = ?", [name])
        return str(rows[0][0]) if rows else default

    def write_setting(self, name: str, value: str) -> None:
        """Write a setting."""
        self._run("INSERT OR REPLACE INTO settings (name, value) VALUES (?, ?)", [name, value])

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def _run(self, statement: str, values: list[Any] | None = None) -> list[Any]:
        """Run one statement; a failing disk is one clear line."""
        try:
            return self._connection.execute(statement, values or []).fetchall()
        except sqlite3.DatabaseError as error:
            raise BadValue("history", "write", error, "a data folder with room that can be written") from None


def _to_column(name: str, value: Any) -> Any:
    if name in AS_BOOL and value is not None:
        return int(value)
    return json.dumps(value, sort_keys=True) if name in AS_JSON else value


def _to_trial(row: Any) -> StoredTrial:
    values = dict(zip(COLUMNS, row, strict=True))
    for name in AS_JSON:
        values[name] = json.loads(values[name])
    for name in AS_BOOL:
        values[name] = None if values[name] is None else bool(values[name])
    return StoredTrial(**values)
