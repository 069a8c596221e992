"""How soon the window shows its first picture, beside an empty window: ``python -m tests.bench.start``."""

from __future__ import annotations

import time
from statistics import median

from tests.bench.screen import (
    Screen,
    is_possible,
    make_data_folder,
    open_screen,
    print_against,
    run_program,
    shows_something,
)

RUNS = 7
MOST_S = 1.5
LIMIT_S = 60.0
EMPTY = (
    "import pygame, time; pygame.display.init(); surface = pygame.display.set_mode((1120, 700)); surface.fill('white');"
    "surface.fill('black', (100, 100, 200, 200)); pygame.display.flip(); time.sleep(60)"
)
COMMANDS = {"evenhand": ("-m", "trainer"), "an empty window": ("-c", EMPTY)}


def time_start(screen: Screen, command: tuple[str, ...]) -> float:
    """Start a command on the empty screen; gives when its first picture stood there, s."""
    with make_data_folder() as data:
        begin_s = time.perf_counter()
        with run_program(screen, data, *command):
            shown_s = screen.wait_for(shows_something, LIMIT_S)
            assert shown_s is not None, "no picture came"
        assert screen.wait_for(lambda now: not shows_something(now), LIMIT_S) is not None
    return shown_s - begin_s


def main() -> None:
    """Print the start's rows."""
    if not is_possible():
        return
    times: dict[str, list[float]] = {name: [] for name in COMMANDS}
    with open_screen() as screen:
        for _ in range(RUNS):
            for name, command in COMMANDS.items():
                times[name].append(time_start(screen, command))
    ours, theirs = (median(kept) for kept in times.values())
    print_against("from the command to the first picture", ours, "s", MOST_S)
    print(f"{'':44s} {ours / theirs:6.2f} x an empty window ({ours:.2f} and {theirs:.2f} s)")


if __name__ == "__main__":
    main()
