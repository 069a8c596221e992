"""Answers that are offered together: how far apart they are, by the drill's least amount, on every song."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

from trainer.app.world import make_bench
from trainer.errors import EvenhandError
from trainer.exercise.drill import Drill
from trainer.exercise.trial import TrialSpec
from trainer.files.library import list_demo_songs, list_drills
from trainer.measure.distance import measure_distance

# In some third octave, or over all moments and bands: what the README states.
LARGEST_DB, OVERALL_DB = 1.0, 0.5
SEEDS = (1, 2, 3)


def run() -> bool:
    """Print the nearest pair of answers of each drill and song; tell whether all are far enough apart."""
    print("Answers offered together, nearest pair at the least amount that is asked (dB in a third octave, over all)")
    drills = [drill for drill in list_drills(Path("none")).values() if drill.form == "name_it"]
    shown = [_show(drill) for drill in drills]
    return all(shown)


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
            found += [(measure_distance(a, b, trial.rate_hz), entry.title) for a, b in pairs]
    if not found:
        print(f"  {drill.drill:24} nowhere")
        return False
    nearest, title = min(
        found, key=lambda each: max(abs(each[0].largest_db) / LARGEST_DB, each[0].overall_db / OVERALL_DB)
    )
    fine = abs(nearest.largest_db) >= LARGEST_DB or nearest.overall_db >= OVERALL_DB
    songs = len({title for _, title in found})
    print(
        f"  {drill.drill:24} {abs(nearest.largest_db):5.2f} at {nearest.at_hz:6.0f} Hz, {nearest.overall_db:5.2f} "
        f"on {title} ({songs} songs) {'met' if fine else 'MISSED'}"
    )
    return fine
