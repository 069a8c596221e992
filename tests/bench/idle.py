"""How busy the window keeps a processor while nothing is done: ``python -m tests.bench.idle``."""

from __future__ import annotations

import time
from statistics import median

from tests.bench.screen import (
    Screen,
    is_possible,
    make_data_folder,
    open_screen,
    print_against,
    read_processor_s,
    run_program,
    shows_something,
)

STRETCHES, STRETCH_S, SETTLE_S, LIMIT_S = 5, 2.0, 4.0, 60.0
# What is open, its arguments, whether something has to move on it, and the most that is wished, per cent of a core.
CASES = (
    ("on Today, nothing sounds", (), False, 3.0),
    ("on a trial, the loop sounds", ("drill", "high_shelf_8k", "--seed", "2"), True, 15.0),
)


def measure_share(screen: Screen, arguments: tuple[str, ...], moves: bool) -> float:
    """Open the program and leave it alone; gives the median share of a core, per cent, children included."""
    with make_data_folder() as data, run_program(screen, data, "-m", "trainer", *arguments) as program:
        assert screen.wait_for(shows_something, LIMIT_S) is not None
        time.sleep(SETTLE_S)
        assert screen.wait_for_loop(LIMIT_S if moves else 1.0) == moves, "it stands still, or moves, and should not"
        shares = []
        for _ in range(STRETCHES):
            begin_s, busy_s = time.perf_counter(), read_processor_s(program.pid)
            time.sleep(STRETCH_S)
            shares.append((read_processor_s(program.pid) - busy_s) / (time.perf_counter() - begin_s))
    return 100 * float(median(shares))


def main() -> None:
    """Print the rows of the idle window."""
    if not is_possible():
        return
    with open_screen() as screen:
        for name, arguments, moves, most in CASES:
            print_against(name, measure_share(screen, arguments, moves), "%", most)


if __name__ == "__main__":
    main()
