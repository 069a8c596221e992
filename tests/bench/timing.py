"""Time two ways in turn and print how they compare."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

RUNS = 7


def compare(
    name: str, ours: Callable[[], object], theirs: Callable[[], object], against: str, runs: int = RUNS
) -> float:
    """Print the ratio of the medians of interleaved runs, and give it back."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(runs):
        for work, kept in zip((ours, theirs), times, strict=True):
            start = time.perf_counter()
            work()
            kept.append(time.perf_counter() - start)
    a, b = median(times[0]), median(times[1])
    print(f"{name:44s} {a / b:6.2f} x {against:44s} ({a * 1000:.0f} and {b * 1000:.0f} ms)", flush=True)
    return a / b
