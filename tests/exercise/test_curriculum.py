"""The bundled drills as a whole: every move is taught, every question can be put, and an ideal listener answers it."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.exercise.ideal_listener import HEARD, listen
from trainer.dsp.moves import MOVES, list_moves_with
from trainer.exercise.drill import Drill
from trainer.exercise.families import FAMILIES
from trainer.exercise.forms import FORMS
from trainer.exercise.trial import TrialSpec
from trainer.files.coding import ChildCoder
from trainer.files.library import find_bundled
from trainer.files.yaml_text import load_yaml
from trainer.workshop.bench import Bench

NAMES = [
    drill["drill"]
    for path in sorted(find_bundled("exercises").glob("*.yaml"))
    for drill in load_yaml(path)["drills"]  # type: ignore[index]
]


def test_there_are_enough_drills_and_every_family_has_some(drills: dict[str, Drill]) -> None:
    """Forty or more, in the order of the families, each family with two or more."""
    subjects = [drill.subject for drill in drills.values()]
    assert len(drills) >= 40
    assert list(dict.fromkeys(subjects)) == list(FAMILIES)
    assert min(Counter(subjects).values()) >= 2


def test_every_move_and_every_form_is_used(drills: dict[str, Drill]) -> None:
    """What the program can do is taught somewhere; a move that only serves others is named here."""
    used = {name for drill in drills.values() for name in (drill.move, *(move for move, _ in drill.moves))}
    helping = {"compressor_on_average"} - used
    assert set(list_moves_with(ChildCoder())) - used == helping and helping <= set(MOVES)
    assert {drill.form for drill in drills.values()} == set(FORMS)


def test_amounts_begin_where_a_beginner_hears_them(drills: dict[str, Drill]) -> None:
    """The first question and the example are at least a quarter as large again as what an untrained ear needs."""
    for drill in drills.values():
        if FORMS[drill.form].placement == "threshold":
            assert drill.amount.start >= (1.0 if drill.form == "name_it" else 1.25) * drill.amount.typical, drill.drill
            assert drill.amount.demonstration >= drill.amount.start, drill.drill
            # Answers that have to be named end where they are no longer far enough apart.
            assert drill.form == "name_it" or drill.amount.low <= 0.5 * drill.amount.typical, drill.drill
        assert drill.amount.usual_source and drill.amount.typical_source, drill.drill


def test_a_skill_has_one_unit_and_scale(drills: dict[str, Drill]) -> None:
    """Drills that share a threshold share what it is measured in."""
    scales: dict[str, set[object]] = {}
    for drill in drills.values():
        scales.setdefault(drill.skill, set()).add((drill.amount.unit, drill.scale))
    assert {skill: found for skill, found in scales.items() if len(found) > 1} == {}


@pytest.mark.parametrize("name", NAMES)
def test_an_ideal_listener_is_right(name: str, drills: dict[str, Drill], bench: Bench) -> None:
    """At the starting amount the trial is made, and can be answered by ear (more songs: `python -m tests.long`).

    How the listener knows: the odd one of three, the nearest of two, the control that leaves no difference; from the
    sound alone (by construction).
    """
    drill = drills[name]
    trial = bench.make(TrialSpec(drill, 1, 0, drill.amount.start))
    if drill.form in HEARD:
        assert listen(trial, bench) == trial.right_answer
    if trial.loudness_matched:
        assert trial.spread_lu <= 0.01
    assert trial.effect.sentences
