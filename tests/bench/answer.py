"""From a key to the picture that shows what it did, the loop sounding: ``python -m tests.bench.answer``."""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tests.bench.screen import (
    Screen,
    is_possible,
    make_data_folder,
    open_screen,
    print_against,
    run_program,
    shows_something,
)
from trainer.store.database import FILE_NAME

TRIALS, LIMIT_S, LOOP_S, MOST_MS = 20, 60.0, 10.0, 50.0
COMMAND = ("-m", "trainer", "drill", "high_shelf_8k", "--seed", "2", "--trials", str(TRIALS))


def count_kept(data: Path) -> int:
    """Count the answers on the disk."""
    connection = sqlite3.connect(data / FILE_NAME)
    try:
        return int(connection.execute("SELECT count(*) FROM trials").fetchone()[0])
    finally:
        connection.close()


def time_key(screen: Screen, key: str, still: npt.NDArray[np.bool_], limit_s: float = 2.0) -> float | None:
    """Press a key; gives when anything changed in the rows that stand still otherwise, ms, or None."""
    before = screen.read()[still]
    pressed_s = screen.press(key)
    shown_s = screen.wait_for(lambda now: not np.array_equal(now[still], before), limit_s)
    return None if shown_s is None else 1000 * (shown_s - pressed_s)


def answer_trials(screen: Screen, data: Path) -> tuple[list[float], list[float]]:
    """Answer a run by keys; gives the times of the listening keys and of the answers, ms."""
    listened: list[float] = []
    answered: list[float] = []
    assert screen.wait_for_loop(LIMIT_S), "no example came"
    screen.press("Return")
    time.sleep(1.0)
    assert screen.wait_for_loop(LIMIT_S), "no question came"
    still = ~screen.find_moving_rows(LOOP_S)
    for number in range(1, TRIALS + 1):
        for key in ("2", "3"):
            found = time_key(screen, key, still)
            listened += [] if found is None else [found]
            time.sleep(0.2)
        found = time_key(screen, "Return", still)
        time.sleep(0.3)
        assert found is not None and count_kept(data) == number, "an answer did not arrive"
        answered.append(found)
        screen.press("Return")
        time.sleep(0.5)
        assert number == TRIALS or screen.wait_for_loop(LIMIT_S), "no question came"
    return listened, answered


def main() -> None:
    """Print the rows of the keys."""
    if not is_possible():
        return
    with open_screen() as screen, make_data_folder() as data, run_program(screen, data, *COMMAND):
        assert screen.wait_for(shows_something, LIMIT_S) is not None
        times = answer_trials(screen, data)
    for name, found in zip(("a key that switches the version", "a key that answers"), times, strict=True):
        assert len(found) >= TRIALS // 2, f"{name}: only {len(found)} times"
        print(f"{name:44s} {np.median(found):6.1f} ms in the median of {len(found)}")
        print_against(f"{name}, 95 of 100", float(np.percentile(found, 95)), "ms", MOST_MS)


if __name__ == "__main__":
    main()
