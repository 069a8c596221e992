"""Speed and memory of the meter and the delivery check: ``python -m tests.bench.meter``; ratios of one run, medians."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np
import numpy.typing as npt
import pyebur128
import soundfile

from trainer.files.library import list_demo_songs
from trainer.measure.loudness_trace import LoudnessMeter
from trainer.measure.peak_trace import PeakMeter
from trainer.measure.steps import block_frames

RUNS = 5
LENGTH_S = 240
LONG_S = 3600

Samples = npt.NDArray[np.float32]


def compare(
    name: str, ours: Callable[[], object], theirs: Callable[[], object], against: str, runs: int = RUNS
) -> float:
    """Time two ways in turn, print the ratio of their medians, and give it."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(runs):
        for work, kept in zip((ours, theirs), times, strict=True):
            start = time.perf_counter()
            work()
            kept.append(time.perf_counter() - start)
    a, b = median(times[0]), median(times[1])
    print(f"{name:44s} {a / b:6.2f} x {against:36s} ({a * 1000:.0f} and {b * 1000:.0f} ms)", flush=True)
    return a / b


def make_song(length_s: int) -> tuple[Samples, int]:
    """Repeat a demo song to a length."""
    samples, rate_hz = soundfile.read(list_demo_songs()[0].path, dtype="float32", always_2d=True)
    rounds = -(-length_s * rate_hz // samples.shape[0])
    return np.tile(samples, (rounds, 1))[: length_s * rate_hz], rate_hz


def read_loudness(samples: Samples, rate_hz: int, peaks: bool) -> None:
    """Read integrated loudness and range, and maxima and true peak as well if wished, as a file is read."""
    meter, follower = LoudnessMeter(rate_hz, 2), PeakMeter(rate_hz, 2)
    for first in range(0, samples.shape[0], block_frames(rate_hz)):
        block = np.ascontiguousarray(samples[first : first + block_frames(rate_hz)].T)
        meter.add(block)
        if peaks:
            follower.add(block)
    trace = meter.finish()
    assert np.isfinite(trace.integrated_lufs) and trace.loudness_range_lu is not None
    if peaks:
        assert trace.max_momentary_lufs is not None and trace.max_short_term_lufs is not None
        assert np.isfinite(follower.finish().true_peak_dbtp)


def read_with_libebur128(samples: Samples, rate_hz: int, peaks: bool) -> None:
    """Read integrated loudness and range, and the true peak if wished, with libebur128."""
    modes = pyebur128.MeasurementMode
    mode = modes.MODE_I | modes.MODE_LRA | (modes.MODE_TRUE_PEAK if peaks else modes.MODE_I)
    state = pyebur128.R128State(2, rate_hz, mode)
    state.add_frames(np.ascontiguousarray(samples, np.float64).reshape(-1), samples.shape[0])
    pyebur128.get_loudness_global(state)
    pyebur128.get_loudness_range(state)
    if peaks:
        pyebur128.get_true_peak(state, 0)


def read_with_ffmpeg(path: Path) -> None:
    """Read a file with ffmpeg's ebur128 filter, true peak included."""
    command = ["ffmpeg", "-hide_banner", "-nostats", "-i", str(path), "-af", "ebur128=peak=true", "-f", "null", "-"]
    subprocess.run(command, capture_output=True, check=True)


def run_command(*arguments: str) -> float:
    """Run the command in a process of its own; give the most memory that it held, MB (Linux).

    A child's peak as the system counts it would begin with its parent's memory: read is what the process says itself.
    """
    script = (
        "import re, sys, trainer.cli as c; c.main(sys.argv[1:]);"
        "print(re.search('VmHWM:.*?([0-9]+)', open('/proc/self/status').read()).group(1), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script, *arguments], capture_output=True, text=True, check=True)
    return int(done.stderr.split()[-1]) / 1024


def main() -> None:
    """Print the table."""
    samples, rate_hz = make_song(LENGTH_S)
    compare(
        "integrated loudness and range, 4 min",
        lambda: read_loudness(samples, rate_hz, False),
        lambda: read_with_libebur128(samples, rate_hz, False),
        "libebur128, the same",
    )
    compare(
        "M, S, I, range and true peak, 4 min",
        lambda: read_loudness(samples, rate_hz, True),
        lambda: read_with_libebur128(samples, rate_hz, True),
        "libebur128, I, range, true peak",
    )
    if shutil.which("ffmpeg") is None:
        print("ffmpeg is not installed: the check has nothing to be compared with")
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "song.wav"
        soundfile.write(path, samples, rate_hz, subtype="PCM_24")
        name = str(path)
        compare(
            "M, S, I, range and true peak, 4 min",
            lambda: read_loudness(samples, rate_hz, True),
            lambda: read_with_ffmpeg(path),
            "ffmpeg ebur128=peak=true",
        )
        for words, options in (("without coding", ["--no-coding"]), ("with coding", [])):
            compare(
                f"evenhand check, 4 min, {words}",
                lambda options=options: run_command("check", name, *options),  # type: ignore[misc]
                lambda: read_with_ffmpeg(path),
                "ffmpeg ebur128=peak=true",
                3,
            )
        print(f"most memory, check of 4 min: {run_command('check', '--no-coding', name):.0f} MB")
        _write_long(path, samples, rate_hz)
        print(f"most memory, check of {LONG_S // 60} min: {run_command('check', '--no-coding', name):.0f} MB")


def _write_long(path: Path, samples: Samples, rate_hz: int) -> None:
    """Write an hour, a song at a time."""
    with soundfile.SoundFile(path, "w", rate_hz, 2, "PCM_24") as file:
        for _ in range(LONG_S // LENGTH_S):
            file.write(samples)


if __name__ == "__main__":
    main()
