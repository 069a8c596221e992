"""Set-ups by name, the table of days, and histories that travel, as commands."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from tests.exercise.test_history import make_history
from trainer import cli
from trainer.exercise.drill import Drill
from trainer.store.history import SqliteStore


def run(capfd: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Carry a command out and give its status, output and complaint."""
    status = cli.main(list(words))
    output, errors = capfd.readouterr()
    return status, output, errors


def test_a_set_up_is_added_and_taken_into_use(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """It is then what answers count for."""
    data = ("--data", str(tmp_path))
    assert run(capfd, "setup", "add", "small monitors", *data)[0] == 0
    assert run(capfd, "setup", "use", "small monitors", *data)[0] == 0
    status, output, _ = run(capfd, "setup", "list", "--json", *data)
    setups = {each["setup"]: each for each in json.loads(output)}
    assert status == 0 and setups["small monitors"]["in_use"] and not setups["headphones"]["in_use"]
    assert setups["headphones"]["plays"] == {"low": None, "top": None}
    assert SqliteStore(tmp_path).read_setting("setup", "") == "small monitors"


@pytest.mark.parametrize(
    "words", [("use", "small monitor"), ("add", "silent"), ("add", "headphones"), ("add",), ("use", "x" * 41)]
)
def test_names_that_cannot_be_are_one_line(
    words: tuple[str, ...], tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """Status 2, and the nearest name where there is one."""
    run(capfd, "setup", "add", "small monitors", "--data", str(tmp_path))
    status, output, errors = run(capfd, "setup", *words, "--data", str(tmp_path))
    assert status == 2 and not output and errors.count("\n") == 1
    assert "did you mean small monitors" in errors or words[0] == "add" or len(words[1]) > 40


def test_days_are_written_as_a_table(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], drills: dict[str, Drill]
) -> None:
    """A line for each day of practice; the last one is what progress says."""
    store = SqliteStore(tmp_path)
    for day in (741_600, 741_603):
        for trial in make_history(drills["limiting"], 12, day):
            store.keep(trial)
    store.close()
    status, output, _ = run(capfd, "progress", "--json", "--csv", str(tmp_path / "days.csv"), "--data", str(tmp_path))
    assert status == 0
    with (tmp_path / "days.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["skill"] for row in rows] == ["limiting", "limiting"]
    assert [int(row["trials"]) for row in rows] == [12, 12]
    for row in rows:
        assert float(row["low"]) < float(row["estimate"]) < float(row["high"])
    assert json.loads(output)["skills"][0]["trials"] == 24
    assert run(capfd, "progress", "--csv", str(tmp_path / "days.csv"), "--data", str(tmp_path))[0] == 2


def test_a_history_travels(tmp_path: Path, capfd: pytest.CaptureFixture[str], drills: dict[str, Drill]) -> None:
    """Exported here, merged there, twice."""
    store = SqliteStore(tmp_path)
    for trial in make_history(drills["limiting"], 5, 741_600):
        store.keep(trial)
    store.close()
    file, there = str(tmp_path / "h.jsonl"), str(tmp_path / "there")
    assert "5 trials" in run(capfd, "history", "export", file, "--data", str(tmp_path))[1]
    assert run(capfd, "history", "merge", file, "--data", there)[1].startswith("5 trials added")
    assert run(capfd, "history", "merge", file, "--data", there)[1].startswith("0 trials added")
    status, _, errors = run(capfd, "history", "merge", str(tmp_path / "none.jsonl"), "--data", there)
    assert status == 2 and errors.count("\n") == 1
