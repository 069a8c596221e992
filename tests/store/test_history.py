"""The history: nothing answered is lost, nothing is kept twice, and an old file grows with the program."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import textwrap
from dataclasses import replace
from pathlib import Path

import pytest

from tests.exercise.test_history import make_history
from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.store import database
from trainer.store.history import SqliteStore


def test_a_trial_comes_back_as_it_was(data_folder: Path, drills: dict[str, Drill]) -> None:
    """Every field, and the order of the answers."""
    trials = make_history(drills["limiting"], 3, 741_600)
    store = SqliteStore(data_folder)
    for trial in reversed(trials):
        store.keep(trial)
    store.close()
    again = SqliteStore(data_folder)
    assert again.list_trials() == tuple(trials)
    assert again.find_trial(trials[1].trial) == trials[1]
    assert again.find_trial("no such trial") is None
    assert again.find_trial(trials[1].trial[:8]) == trials[1]
    assert again.find_trial(trials[0].trial[:4]) is None


def test_the_same_trial_is_kept_once(data_folder: Path, drills: dict[str, Drill]) -> None:
    """A trial's own identifier decides."""
    (trial,) = make_history(drills["limiting"], 1, 741_600)
    store = SqliteStore(data_folder)
    store.keep(trial)
    store.keep(replace(trial, answer="3"))
    assert store.list_trials() == (trial,)


def test_settings_are_kept(data_folder: Path) -> None:
    """Written, read, written over."""
    store = SqliteStore(data_folder)
    assert store.read_setting("theme", "paper") == "paper"
    store.write_setting("theme", "night")
    store.write_setting("theme", "paper")
    assert SqliteStore(data_folder).read_setting("theme", "night") == "paper"


def test_migrations_are_ordered_and_recorded(data_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A later program brings an older file up to date, once; an older program refuses a later file."""
    SqliteStore(data_folder).close()
    later = (*database.MIGRATIONS, ("a column more", "ALTER TABLE settings ADD COLUMN note TEXT"))
    monkeypatch.setattr(database, "MIGRATIONS", later)
    for _ in range(2):
        connection = database.open_database(data_folder)
        titles = [row[0] for row in connection.execute("SELECT title FROM migrations ORDER BY number")]
        assert titles == [title for title, _ in later]
        connection.close()
    monkeypatch.setattr(database, "MIGRATIONS", later[:1])
    with pytest.raises(BadValue, match="newer Evenhand"):
        database.open_database(data_folder)


def test_a_failed_migration_leaves_the_file_as_it_was(data_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All or nothing."""
    SqliteStore(data_folder).close()
    broken = (*database.MIGRATIONS, ("half", "CREATE TABLE half (x); NO SUCH STATEMENT"))
    monkeypatch.setattr(database, "MIGRATIONS", broken)
    with pytest.raises(BadValue, match="history: file="):
        database.open_database(data_folder)
    tables = sqlite3.connect(data_folder / database.FILE_NAME).execute("SELECT name FROM sqlite_master").fetchall()
    assert ("half",) not in tables


def test_what_is_no_history_is_one_line(data_folder: Path) -> None:
    """A text file in its place."""
    (data_folder / database.FILE_NAME).write_text("not a database, but long enough to be looked at as one" * 20)
    with pytest.raises(BadValue, match="history: file="):
        SqliteStore(data_folder)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs SIGKILL")
def test_a_killed_process_loses_nothing_that_was_kept(data_folder: Path) -> None:
    """SIGKILL right after `keep` has returned, several times over."""
    script = textwrap.dedent("""
        import os, signal, sys
        from pathlib import Path
        from tests.exercise.test_history import make_history
        from trainer.files.library import list_drills
        from trainer.store.history import SqliteStore
        folder, number = Path(sys.argv[1]), int(sys.argv[2])
        trials = make_history(list_drills(folder)["limiting"], 3, 741600 + number)
        store = SqliteStore(folder)
        for trial in trials:
            store.keep(trial)
        os.kill(os.getpid(), signal.SIGKILL)
    """)
    for number in range(3):
        done = subprocess.run(
            [sys.executable, "-c", script, str(data_folder), str(number)], cwd=Path(__file__).parents[2]
        )
        assert done.returncode == -signal.SIGKILL
        store = SqliteStore(data_folder)
        assert len(store.list_trials()) == 3 * (number + 1)
        store.close()


@pytest.mark.skipif(os.name == "nt", reason="permissions")
def test_a_folder_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    """A file where the folder should be: nobody, not even root, can write into it."""
    from trainer.files.folders import open_folder

    (tmp_path / "file").write_text("")
    with pytest.raises(BadValue, match=r"data folder: path=.*expected a folder that can be written"):
        open_folder(tmp_path / "file" / "data", "data folder")
