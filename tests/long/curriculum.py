"""Every drill on the bundled songs: where it can be put, and whether an ideal listener answers it by ear."""

from __future__ import annotations

from pathlib import Path

from tests.exercise.ideal_listener import HEARD, listen
from trainer.app.world import make_bench
from trainer.errors import EvenhandError
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.trial import TrialSpec
from trainer.files.library import list_demo_songs, list_drills
from trainer.workshop.bench import Bench

FEWEST_SONGS = 2


def run() -> bool:
    """Print a line to a drill; tell whether each has two songs at all its amounts, and every answer was right."""
    print("Drills: songs at the starting, the typical and the example's amount; answers of an ideal listener")
    benches = [make_bench((entry,)) for entry in list_demo_songs()]
    shown = [_show(drill, benches) for drill in list_drills(Path("none")).values()]
    return all(shown)


def _show(drill: Drill, benches: list[Bench]) -> bool:
    """Print a drill's line."""
    amounts = {"start": drill.amount.start}
    if FORMS[drill.form].placement == "threshold":
        amounts |= {"typical": drill.amount.typical, "example": drill.amount.demonstration}
    counts, right, asked = [], 0, 0
    for amount in amounts.values():
        count = 0
        for seed, bench in enumerate(benches):
            try:
                trial = bench.make(TrialSpec(drill, seed, 0, amount))
            except EvenhandError:
                continue
            count += 1
            if drill.form in HEARD:
                asked += 1
                right += listen(trial, bench) == trial.right_answer
        counts.append(count)
    fine = min(counts) >= FEWEST_SONGS and right == asked
    heard = f"{right} of {asked} right" if asked else "not answered by ear"
    print(f"  {drill.drill:26} {'/'.join(map(str, counts)):6} songs, {heard} {'met' if fine else 'MISSED'}", flush=True)
    return fine
