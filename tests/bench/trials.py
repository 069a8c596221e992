"""A whole trial: song and place chosen, move solved, made, matched, measured."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyebur128

from tests.bench.sounds import cut_song
from tests.bench.timing import compare
from trainer.exercise.trial import TrialSpec
from trainer.files.library import list_demo_songs, list_drills
from trainer.files.sound_reading import read_song
from trainer.workshop.bench import Bench


def read_with_libebur128(samples: np.ndarray, rate_hz: int) -> None:
    """Read loudness and true peak with libebur128."""
    mode = pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    state = pyebur128.R128State(2, rate_hz, mode)
    state.add_frames(np.ascontiguousarray(samples, dtype=np.float64).ravel(), samples.shape[0])
    pyebur128.get_loudness_global(state)


def main() -> None:
    """Print a row for each drill."""
    clip = cut_song(20)
    bench = Bench(list_demo_songs(), read_song)
    for name, drill in list_drills(Path("none")).items():
        spec = TrialSpec(drill, 1, 0, drill.amount.start)
        bench.make(spec)
        compare(f"a whole trial of {name}", lambda spec=spec: bench.make(spec),  # type: ignore[misc]
                lambda: read_with_libebur128(clip.samples, clip.rate_hz), "libebur128 on 20 s", 3)  # fmt: skip
