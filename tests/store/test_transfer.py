"""Histories travel whole: written, read back, merged any number of times, and refused by halves."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path
from typing import Any

import pytest

from tests.exercise.test_history import make_history
from trainer.app.histories import export_history, merge_history
from trainer.app.world import Conditions
from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.store.history import SqliteStore
from trainer.store.transfer import read_history, write_history


def test_what_is_written_comes_back(tmp_path: Path, drills: dict[str, Drill]) -> None:
    """Every field of every trial."""
    trials = tuple(make_history(drills["limiting"], 4, 741_600))
    write_history(trials, tmp_path / "deep" / "history.jsonl")
    assert read_history(tmp_path / "deep" / "history.jsonl") == trials
    assert [path.name for path in (tmp_path / "deep").iterdir()] == ["history.jsonl"]


def test_two_computers_end_up_with_the_same(tmp_path: Path, drills: dict[str, Drill]) -> None:
    """Merged there and back, twice: both hold the union, each trial once."""
    both = [Conditions(str(tmp_path / name)) for name in ("desk", "van")]
    trials = make_history(drills["limiting"], 6, 741_600)
    for conditions, own in zip(both, (trials[:4], trials[2:]), strict=True):
        store = SqliteStore(conditions.folder)
        for trial in own:
            store.keep(trial)
        store.close()
    for round_number in range(2):
        for conditions, other in zip(both, both[::-1], strict=True):
            file = str(tmp_path / f"{round_number} {Path(other.data or '').name}.jsonl")
            export_history(other, file, force=False)
            merge_history(conditions, file)
    held = [SqliteStore(conditions.folder).list_trials() for conditions in both]
    assert held[0] == held[1] == tuple(trials)


@pytest.mark.parametrize("fault", ["text", "cut", "key", "number", "version", "unknown"])
def test_a_broken_file_is_refused_whole(tmp_path: Path, drills: dict[str, Drill], fault: str) -> None:
    """One line says where; nothing of it is taken in."""
    file = tmp_path / "history.jsonl"
    write_history(make_history(drills["limiting"], 3, 741_600), file)
    lines = file.read_text(encoding="utf-8").splitlines()
    item = json.loads(lines[2])
    if fault == "text":
        lines[2] = "{"
    elif fault == "cut":
        lines = lines[:3]
    elif fault == "version":
        lines[0] = lines[0].replace('"version": 1', '"version": 9')
    else:
        changes = {"key": {"form": None}, "number": {"amount": "much"}, "unknown": {"shine": 1}}
        lines[2] = json.dumps(item | changes[fault])
    file.write_text("\n".join(lines), encoding="utf-8")
    conditions = Conditions(str(tmp_path / "data"))
    with pytest.raises(BadValue) as caught:
        merge_history(conditions, str(file))
    assert "\n" not in str(caught.value) and "history.jsonl" in str(caught.value)
    assert SqliteStore(conditions.folder).list_trials() == ()


def test_an_existing_file_is_kept(tmp_path: Path) -> None:
    """Unless it is meant."""
    file = tmp_path / "history.jsonl"
    file.write_text("mine")
    with pytest.raises(BadValue, match="--force"):
        export_history(Conditions(str(tmp_path / "data")), str(file), force=False)
    assert file.read_text() == "mine"


def test_a_full_disk_leaves_nothing_behind(
    tmp_path: Path, drills: dict[str, Drill], monkeypatch: pytest.MonkeyPatch
) -> None:
    """POSIX: ENOSPC after half of it; the file that was there stays, alone."""
    file = tmp_path / "history.jsonl"
    file.write_bytes(b"mine")

    def write(self: Path, data: str, **how: Any) -> int:
        self.write_bytes(data.encode()[: len(data) // 2])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "write_text", write)
    with pytest.raises(BadValue, match="No space left on device"):
        write_history(make_history(drills["limiting"], 3, 741_600), file)
    assert list(tmp_path.iterdir()) == [file] and file.read_bytes() == b"mine"
