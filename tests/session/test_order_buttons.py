"""Putting in order: what was picked stays to be seen, and every button stays where it is."""

from __future__ import annotations

from tests.fakes import make_world
from tests.ui.reached_trials import LaidOut
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.screens import Program
from trainer.session.view import TrialView


def test_picks_are_named_over_the_discs_and_on_their_buttons(drills: dict[str, Drill]) -> None:
    """Two picks, then the first one again, which is taken already, then begun again: as many buttons throughout."""
    program = Program(make_world(drills, workshop=LaidOut(), trials=2))
    program.act(intents.StartDrill("limiting_ladder"))
    program.tick()
    program.act(intents.GoOn())
    program.tick()

    def read() -> tuple[list[str], list[str], list[bool]]:
        shown = program.view()
        assert isinstance(shown, TrialView)
        answers = shown.answers
        return [v.label for v in shown.versions], [a.label for a in answers], [a.selected for a in answers]

    discs, buttons, used = before = read()
    assert buttons == ["First is 1", "First is 2", "First is 3", "First is 4", "Begin again"] and not any(used)
    for number in (2, 4, 2):
        program.act(intents.PutNext(number))
    discs, buttons, used = read()
    assert buttons == ["Next is 1", "2 is first", "Next is 3", "4 is second", "Begin again"]
    assert [label.partition(", ")[2] for label in discs] == ["–", "first", "–", "second"]
    assert used == [False, True, False, True, False]
    program.act(intents.PutNext(0))
    assert read() == before
