"""The database file: opened, and brought up to date by ordered migrations that it records itself."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from trainer.errors import BadValue

FILE_NAME = "history.sqlite3"

# Ordered, never changed once released; each runs in one transaction and is recorded in the file.
MIGRATIONS: tuple[tuple[str, str], ...] = (
    (
        "trials and settings",
        """
        CREATE TABLE trials (
            trial TEXT PRIMARY KEY, answered_at TEXT NOT NULL, day INTEGER NOT NULL, drill TEXT NOT NULL,
            form TEXT NOT NULL, move TEXT NOT NULL, skill TEXT NOT NULL, unit TEXT NOT NULL, seed INTEGER NOT NULL,
            "index" INTEGER NOT NULL, amount REAL NOT NULL, measured_amount REAL NOT NULL, audio_title TEXT NOT NULL,
            audio_path TEXT NOT NULL, audio_sha256 TEXT NOT NULL, audio_class TEXT NOT NULL, start_s REAL NOT NULL,
            end_s REAL NOT NULL, setup TEXT NOT NULL, answer TEXT NOT NULL, right_answer TEXT NOT NULL,
            correct INTEGER NOT NULL, scored INTEGER NOT NULL, response_s REAL NOT NULL, loudness_lufs REAL NOT NULL,
            spread_lu REAL NOT NULL, asked TEXT NOT NULL, measured TEXT NOT NULL, program TEXT NOT NULL
        ) WITHOUT ROWID;
        CREATE INDEX trials_by_skill ON trials (skill, setup, audio_class, answered_at);
        CREATE TABLE settings (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
        """,
    ),
    (
        "forms without a threshold, and answers that are neither right nor wrong",
        """
        ALTER TABLE trials RENAME TO trials_of_before;
        DROP INDEX trials_by_skill;
        CREATE TABLE trials (
            trial TEXT PRIMARY KEY, answered_at TEXT NOT NULL, day INTEGER NOT NULL, drill TEXT NOT NULL,
            form TEXT NOT NULL, move TEXT NOT NULL, skill TEXT NOT NULL, unit TEXT NOT NULL, seed INTEGER NOT NULL,
            "index" INTEGER NOT NULL, amount REAL NOT NULL, measured_amount REAL NOT NULL, audio_title TEXT NOT NULL,
            audio_path TEXT NOT NULL, audio_sha256 TEXT NOT NULL, audio_class TEXT NOT NULL, start_s REAL NOT NULL,
            end_s REAL NOT NULL, setup TEXT NOT NULL, answer TEXT NOT NULL, right_answer TEXT NOT NULL,
            correct INTEGER, task TEXT NOT NULL, score REAL NOT NULL, error REAL, scored INTEGER NOT NULL,
            response_s REAL NOT NULL, loudness_lufs REAL NOT NULL, spread_lu REAL NOT NULL, asked TEXT NOT NULL,
            measured TEXT NOT NULL, program TEXT NOT NULL
        ) WITHOUT ROWID;
        INSERT INTO trials SELECT trial, answered_at, day, drill, form, move, skill, unit, seed, "index", amount,
            measured_amount, audio_title, audio_path, audio_sha256, audio_class, start_s, end_s, setup, answer,
            right_answer, correct, form, correct, NULL, scored, response_s, loudness_lufs, spread_lu, asked,
            measured, program FROM trials_of_before;
        DROP TABLE trials_of_before;
        CREATE INDEX trials_by_skill ON trials (skill, setup, audio_class, answered_at);
        """,
    ),
)


def open_database(folder: Path) -> sqlite3.Connection:
    """Open the history in a folder, making or migrating it.

    Parameters
    ----------
    folder : Path
        An existing folder.

    Returns
    -------
    sqlite3.Connection
        In autocommit: every statement is on the disk when it returns.

    Raises
    ------
    BadValue
        If the file is no history, of a newer program, or cannot be written.
    """
    path = folder / FILE_NAME
    try:
        connection = sqlite3.connect(path, isolation_level=None, timeout=10.0)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        _migrate(connection, path)
    except sqlite3.DatabaseError as error:
        raise BadValue("history", "file", path, f"a history that can be read and written ({error})") from None
    return connection


def _migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Run what the file has not seen yet."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute("CREATE TABLE IF NOT EXISTS migrations (number INTEGER PRIMARY KEY, title TEXT NOT NULL)")
        done = int(connection.execute("SELECT count(*) FROM migrations").fetchone()[0])
        if done > len(MIGRATIONS):
            raise BadValue("history", "format", done, f"at most {len(MIGRATIONS)}; {path.name} is of a newer Evenhand")
        for number, (title, script) in enumerate(MIGRATIONS[done:], done + 1):
            for statement in script.split(";"):
                if statement.strip():
                    connection.execute(statement)
            connection.execute("INSERT INTO migrations VALUES (?, ?)", (number, title))
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
