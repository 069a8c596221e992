"""Speed of a weighing: ``python -m tests.bench.weighing``; ratios of processor time in one run, medians."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np
import soundfile

from tests.bench.meter import LENGTH_S, make_song, read_with_libebur128
from trainer.app.weighing import WeighWish, weigh_files
from trainer.decisions.bounce_meter import BounceMeter
from trainer.decisions.weighing import StretchWish
from trainer.files.sound_blocks import open_sound
from trainer.measure.faults.scan import FaultScanner
from trainer.measure.programme import ProgrammeMeter
from trainer.measure.steps import block_frames

RUNS = 3


def compare(name: str, ours: Callable[[], object], theirs: Callable[[], object], against: str) -> float:
    """Time two ways in turn by the processor's clock, which other work on the machine disturbs less; give the ratio."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(RUNS):
        for work, kept in zip((ours, theirs), times, strict=True):
            start = time.process_time()
            work()
            kept.append(time.process_time() - start)
    a, b = median(times[0]), median(times[1])
    print(f"{name:44s} {a / b:6.2f} x {against:44s} ({a:.1f} and {b:.1f} s of one core)", flush=True)
    return a / b


def weigh(files: list[str]) -> float:
    """Weigh files; gives the wall time, s."""
    start = time.perf_counter()
    weighed = weigh_files(WeighWish(files, StretchWish()))
    assert weighed.weighing is not None and not weighed.errors
    return time.perf_counter() - start


def measure_for_bounce(path: str) -> None:
    """Measure what a weighing needs of a file."""
    with open_sound(path) as sound:
        meter = BounceMeter(sound.form)
        for block in sound.read(block_frames(sound.form.sample_rate_hz)):
            meter.add(block)
        assert np.isfinite(meter.finish().programme.peaks.true_peak_dbtp)


def measure_all(path: str) -> None:
    """Measure all figures of a file, and look for faults."""
    with open_sound(path) as sound:
        form = sound.form
        meter = ProgrammeMeter(form.sample_rate_hz, form.channels)
        scanner = FaultScanner(form.sample_rate_hz, form.channels, form.step)
        for block in sound.read(block_frames(form.sample_rate_hz)):
            meter.add(block)
            scanner.add(block)
        assert scanner.finish(meter.finish()).edges is not None


def main() -> None:
    """Print the table."""
    samples, rate_hz = make_song(LENGTH_S)
    loud = np.tanh(4 * samples) * np.float32(0.8)
    with tempfile.TemporaryDirectory() as folder:
        files = [str(Path(folder) / name) for name in ("one.wav", "two.wav")]
        for path, sound in zip(files, (samples, loud), strict=True):
            soundfile.write(path, sound, rate_hz, subtype="PCM_24")
        compare(
            "what a weighing needs of a file, 4 min",
            lambda: measure_for_bounce(files[0]),
            lambda: measure_all(files[0]),
            "all figures and faults",
        )
        walls: list[float] = []
        compare(
            "a weighing of two files, 4 min each",
            lambda: walls.append(weigh(files)),
            lambda: [read_with_libebur128(sound, rate_hz, True) for sound in (samples, loud)],
            "libebur128, I, range, true peak of both",
        )
        print(f"a weighing of two files, 4 min each: {min(walls):.1f} s at best, as the machine was")


if __name__ == "__main__":
    main()
