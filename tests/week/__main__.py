"""Print weeks of practice of simulated people, as the program words them: `python -m tests.week [PERSON]`."""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from tests.week.days import Day, live
from tests.week.people import PEOPLE
from tests.week.person import Person
from tests.week.stand_ins import make_stand_ins
from trainer.exercise.drill import Drill
from trainer.files.library import list_drills

FEWEST_DRILLS = 20


def main(wanted: Sequence[str]) -> None:
    """Print the weeks of all people, or of those whose names begin as wanted."""
    drills = find_drills()
    for person in PEOPLE:
        if not wanted or any(person.name.startswith(each) for each in wanted):
            print_weeks(person, live(person, drills), drills)


def find_drills() -> dict[str, Drill]:
    """Give the bundled drills; while there are few of them, sixty that stand for them."""
    with tempfile.TemporaryDirectory() as folder:
        drills = list_drills(Path(folder))
    return drills if len(drills) >= FEWEST_DRILLS else make_stand_ins(drills["high_shelf_8k"])


def print_weeks(person: Person, days: Sequence[Day], drills: Mapping[str, Drill]) -> None:
    """Print what happened, day by day, and how often each drill came up."""
    print(f"\n=== {person.name}; set-up: {person.setup}\n")
    for day in days:
        print("\n".join(day.words), end="\n\n")
    met = Counter(line.standing.drill.drill for day in days for line in day.plan.lines)
    depths = Counter(line.standing.drill.drill for day in days for line in day.plan.lines if line.part == "depth")
    print(f"--- {person.name}: days planned (of these in depth), in {len(days)} days")
    for name, drill in drills.items():
        days_on = ", ".join(str(d.number + 1) for d in days if d.plan.find_trials(name) is not None)
        count = f"{met[name]:3d} ({depths[name]})" if met[name] else "  never"
        print(f"{count:9s} {drill.subject:22s} {drill.title:30s} {drill.form:18s} {drill.reach:4s} days {days_on}")


if __name__ == "__main__":
    main(sys.argv[1:])
