"""Measure speeds: ``python -m tests.bench``. Medians of interleaved runs; quote the ratios, not the times."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np
import pedalboard
import pyebur128

from trainer.audio.clip import Clip
from trainer.dsp.moves import MOVES
from trainer.exercise.trial import TrialSpec
from trainer.files.library import list_demo_songs, list_drills
from trainer.files.sound_reading import read_song
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.true_peak import measure_true_peak
from trainer.workshop.bench import Bench

RUNS = 7
LENGTH_S = 20


def compare(name: str, ours: Callable[[], object], theirs: Callable[[], object], against: str) -> None:
    """Time two ways in turn and print the ratio of their medians."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(RUNS):
        for work, kept in zip((ours, theirs), times, strict=True):
            start = time.perf_counter()
            work()
            kept.append(time.perf_counter() - start)
    a, b = median(times[0]), median(times[1])
    print(f"{name:34s} {a / b:6.2f} x {against:42s} ({a * 1000:.0f} and {b * 1000:.0f} ms)")


def read_with_libebur128(samples: np.ndarray, rate_hz: int) -> None:
    """Read loudness and true peak with libebur128."""
    mode = pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    state = pyebur128.R128State(2, rate_hz, mode)
    state.add_frames(np.ascontiguousarray(samples, dtype=np.float64).ravel(), samples.shape[0])
    pyebur128.get_loudness_global(state)


def main() -> None:
    """Print the table."""
    song = read_song(list_demo_songs()[0])
    start = 24 * song.clip.rate_hz
    loop = Clip(song.clip.samples[start : start + LENGTH_S * song.clip.rate_hz].copy(), song.clip.rate_hz)
    channels = np.ascontiguousarray(loop.samples.T)
    rate = loop.rate_hz

    shelf = MOVES["high_shelf"]
    settings = shelf.solve(loop, 3.0, {"corner_hz": 8000.0})
    board = pedalboard.Pedalboard([pedalboard.HighShelfFilter(8000, 3.0)])
    compare("high shelf, 20 s", lambda: shelf.render(loop, settings), lambda: board(channels, rate), "one shelf filter")

    limiter = MOVES["limiter"]
    prepared = limiter.prepare(loop)
    drive = limiter.solve(prepared, 6.0, {})
    brick = pedalboard.Pedalboard([pedalboard.Gain(drive["drive_db"]), pedalboard.Limiter(-1.0)])
    compare("limiter, 20 s and 4 s of run-up", lambda: limiter.render(prepared, drive), lambda: brick(channels, rate),
            "a plain limiter, no true peak")  # fmt: skip
    compare("limiter's solver, 20 s", lambda: limiter.solve(prepared, 6.0, {}), lambda: brick(channels, rate),
            "a plain limiter, no true peak")  # fmt: skip

    def measure() -> None:
        measure_integrated_lufs(loop.samples, rate)
        measure_true_peak(loop.samples, rate)

    compare("loudness and true peak, 20 s", measure, lambda: read_with_libebur128(loop.samples, rate), "libebur128")

    drills, bench = list_drills(Path("none")), Bench(list_demo_songs(), read_song)
    for name, drill in drills.items():
        spec = TrialSpec(drill, 1, 0, drill.amount.start)
        bench.make(spec)
        compare(f"a whole trial of {name}", lambda spec=spec: bench.make(spec),  # type: ignore[misc]
                lambda: read_with_libebur128(loop.samples, rate), "libebur128 on 20 s")  # fmt: skip


if __name__ == "__main__":
    main()
