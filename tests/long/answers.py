"""Answers that are offered together: how far apart they are, by the drill's least amount, on every song."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt
import scipy.signal

from trainer.app.world import make_bench
from trainer.errors import EvenhandError
from trainer.exercise.drill import Drill
from trainer.exercise.trial import TrialSpec
from trainer.files.library import list_demo_songs, list_drills
from trainer.measure.distance import Distance, measure_distance

# In some third octave, or over all moments and bands: what the README states.
LARGEST_DB, OVERALL_DB = 1.0, 0.35
# A short fault hardly moves a mean: there it is the moment in which the two differ most.
FAULTS, MOMENT_DB = "Faults", 5.0
SEEDS = (1, 2, 3)


def run() -> bool:
    """Print the nearest pair of answers of each drill and song; tell whether all are far enough apart."""
    print("Answers offered together, nearest pair at the least amount that is asked (dB in a third octave, over all)")
    drills = [drill for drill in list_drills(Path("none")).values() if drill.form == "name_it"]
    shown = [_show(drill) for drill in drills]
    return all(shown)


def measure_moment(first: npt.NDArray[np.floating], second: npt.NDArray[np.floating], rate_hz: int) -> float:
    """Measure the largest level difference in a moment of 40 ms and an octave above 60 Hz, dB; 50 dB down at most."""
    levels = []
    for sound in (first, second):
        at_hz, _, lines = scipy.signal.stft(sound.T, rate_hz, nperseg=int(0.04 * rate_hz))
        power = np.abs(lines) ** 2
        edges = [62.5 * 2**n for n in range(9)]
        octaves = [power[:, (at_hz >= low) & (at_hz < high)].sum(axis=1) for low, high in pairwise(edges)]
        levels.append(np.stack(octaves))
    floor = max(level.max() for level in levels) * 1e-5
    return float(np.abs(10 * np.log10(np.maximum(levels[0], floor) / np.maximum(levels[1], floor))).max())


def _show(drill: Drill) -> bool:
    """Print a drill's line."""
    found = []
    for entry in list_demo_songs():
        bench = make_bench((entry,))
        for seed in SEEDS:
            spec = TrialSpec(drill, seed, 0, drill.amount.low)
            try:
                # What is asked decides which songs and places there are; the example then holds every answer there.
                bench.make(spec)
                trial = bench.make(replace(spec, demonstration=True))
            except EvenhandError:
                continue
            pairs = combinations(trial.sounds[1:-1], 2)
            for a, b in pairs:
                moment_db = measure_moment(a, b, trial.rate_hz) if drill.subject == FAULTS else 0.0
                found.append((measure_distance(a, b, trial.rate_hz), moment_db, entry.title))
    if not found:
        print(f"  {drill.drill:24} nowhere")
        return False
    nearest, moment_db, title = min(found, key=_rank)
    fine = _rank((nearest, moment_db, title)) >= 1.0
    songs = len({title for _, _, title in found})
    moment = f", {moment_db:.1f} in a moment" if moment_db else ""
    print(
        f"  {drill.drill:24}{abs(nearest.largest_db):6.2f} at {nearest.at_hz:5.0f} Hz,{nearest.overall_db:5.2f} in all"
        f"{moment} on {title} ({songs} songs) {'met' if fine else 'MISSED'}",
        flush=True,
    )
    return fine


def _rank(found: tuple[Distance, float, str]) -> float:
    """Rank a pair: 1 where it is just far enough apart in one of the three ways."""
    distance, moment_db, _ = found
    return max(abs(distance.largest_db) / LARGEST_DB, distance.overall_db / OVERALL_DB, moment_db / MOMENT_DB)
