"""The real window on a virtual display, by keyboard alone, from the first start to the end of a run."""

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.cli.command import make_environment, run
from trainer.store.database import FILE_NAME

needs_display = pytest.mark.skipif(
    not (shutil.which("Xvfb") and shutil.which("xdotool")), reason="needs Xvfb and xdotool"
)


@pytest.fixture
def display() -> Iterator[str]:
    """Start a virtual display on a free number."""
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", "1", "-screen", "0", "1280x800x24", "-nolisten", "tcp"],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert server.stdout is not None
    yield f":{server.stdout.readline().strip()}"
    server.terminate()
    server.wait(10)


def wait_for(what: Callable[[], bool], seconds: float = 60.0) -> bool:
    """Wait until something is so."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.1)
    return False


def count_kept(data: Path) -> int:
    """Count the trials on the disk."""
    if not (data / FILE_NAME).exists():
        return 0
    connection = sqlite3.connect(data / FILE_NAME)
    try:
        return int(connection.execute("SELECT count(*) FROM trials").fetchone()[0])
    except sqlite3.OperationalError:
        return 0
    finally:
        connection.close()


@needs_display
def test_a_run_from_start_to_finish_by_keyboard_alone(data_folder: Path, display: str) -> None:
    """Cautions, drill, questions, reveals, end; every answer is on the disk at once; then the window closes."""
    window = subprocess.Popen(
        [sys.executable, "-m", "trainer", "drill", "high_shelf_8k", "--trials", "3", "--seed", "2"],
        env=make_environment(data_folder, DISPLAY=display, EVENHAND_OUTPUT="sdl", SDL_AUDIODRIVER="dummy"),
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip

    def press(*keys: str) -> None:
        subprocess.run(["xdotool", "key", *keys], env={"DISPLAY": display, "PATH": "/usr/bin:/bin"}, check=True)

    def find() -> bool:
        found = subprocess.run(
            ["xdotool", "search", "--class", "evenhand"],
            env={"DISPLAY": display, "PATH": "/usr/bin:/bin"}, capture_output=True,
        )  # fmt: skip
        return bool(found.stdout.strip())

    try:
        assert wait_for(find), window.poll()
        time.sleep(1.0)
        press("Return")  # the cautions, at a first start
        for number in range(3):
            kept = False
            for _ in range(60):  # a key that comes while the next trial is being made changes nothing
                press(str(number + 1), "Return")
                if wait_for(lambda number=number: count_kept(data_folder) > number, 1.0):  # type: ignore[misc]
                    kept = True
                    break
            assert kept, f"trial {number + 1} was not answered"
            press("d", "r", "Return")
        assert count_kept(data_folder) == 3
        time.sleep(1.0)
        press("Return")  # from the end of the run to the first screen
        shown = json.loads(run(data_folder, "progress", "--json").stdout)
        assert shown["skills"][0]["trials"] == 3
        for key in ("Escape", "Return"):  # close, and yes
            time.sleep(1.0)
            press(key)
        assert window.wait(20) == 0
    finally:
        window.kill()
        _, errors = window.communicate(timeout=20)
    assert "Traceback" not in errors, errors
