"""Every form of question from its first example to its end, with real sound, by the window's own intents."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import MemoryStore, make_world
from trainer.exercise.drill import Choice, Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.quantities import QUANTITIES
from trainer.session import intents
from trainer.session.program import act, open_program, tick
from trainer.session.screens import view
from trainer.session.state import State
from trainer.session.view import DemonstrationView, EndView, RevealView, TrialView
from trainer.session.world import World
from trainer.workshop.bench import Bench
from trainer.workshop.inline import InlineWorkshop

CHOICES = (
    Choice("boost", "a boost at 3 kHz", "bell", {"centre_hz": 3000.0}),
    Choice("cut", "a cut at 3 kHz", "bell", {"centre_hz": 3000.0}, -1.0),
)
MOVES = {"put_in_order": "push", "set_release": "compressor", "louder_or_better": "level", "mark_the_moment": "click"}


def make_drill(form: str, drills: dict[str, Drill]) -> Drill:
    """Put a drill with each form together."""
    move = MOVES.get(form, "bell")
    choices = CHOICES if form == "name_it" else ()
    amount = replace(drills["high_shelf_8k"].amount, low=1.0, high=8.0, start=5.0, demonstration=6.0, typical=2.0)
    settings = {"centre_hz": 3000.0} if move == "bell" else {}
    return replace(
        drills["high_shelf_8k"], drill="t", skill="t", form=form, move=move, settings=settings, choices=choices,
        rungs=(2.0, 4.0, 6.0), anchor=3.0, trials=5, amount=amount,
    )  # fmt: skip


def answer_rightly(state: State, world: World) -> State:
    """Do what a person does who knows the answer."""
    assert state.run is not None and state.run.trial is not None
    layout = state.run.trial.layout
    if layout.control:
        for _ in range(len(layout.control)):
            state = act(state, intents.MoveControl(-1), world)
        wished = float(layout.right_answer.split()[0])
        for _ in range(layout.control.index(wished)):
            state = act(state, intents.MoveControl(1), world)
        return act(state, intents.AnswerPlaying(), world)
    if " | " in layout.right_answer:
        return act(state, intents.GiveAnswer(layout.right_answer.split(" | ")[1]), world)
    if state.run.drill.form == "put_in_order":
        for number in layout.right_answer.split():
            state = act(state, intents.PutNext(int(number)), world)
        return state
    return act(state, intents.GiveAnswer(layout.right_answer or "1"), world)


@pytest.mark.parametrize("form", sorted(FORMS))
def test_a_question_is_put_answered_shown_and_kept(form: str, bench: Bench, drills: dict[str, Drill]) -> None:
    """Example, question, right answer, reveal; the history keeps it with its judgement, its task and its score."""
    drill = make_drill(form, drills)
    world = make_world({"t": drill}, workshop=InlineWorkshop(bench), trials=None)
    state = tick(act(open_program(world), intents.StartDrill("t"), world), world)
    if FORMS[form].explains:
        assert isinstance(view(state, world), DemonstrationView)
        state = tick(act(state, intents.GoOn(), world), world)
    if FORMS[form].reveals == "last":
        # Nothing is shown before the end, so that it cannot sway the next answer.
        state = tick(answer_rightly(state, world), world)
        assert state.run is not None and state.run.index == 1
        state = replace(state, run=replace(state.run, planned=2))
    shown = view(state, world)
    assert isinstance(shown, TrialView) and shown.answers and not state.message
    assert state.run is not None and state.run.trial is not None
    right = state.run.trial.right_answer
    state = answer_rightly(state, world)
    reveal = view(state, world)
    assert isinstance(reveal, RevealView), state.message
    assert reveal.right is (None if not right else True)
    assert reveal.headline and reveal.done.shapes and reveal.receipt
    trial = state.run.trial if state.run is not None else None
    assert trial is not None and set(trial.asked) | set(trial.effect.measured) <= set(QUANTITIES)
    assert isinstance(world.store, MemoryStore)
    kept = world.store.trials[-1]
    assert len(world.store.trials) == (2 if FORMS[form].reveals == "last" else 1)
    assert (kept.form, kept.correct, kept.task) == (form, None if not right else True, FORMS[form].task(drill) or "")
    assert 0.0 <= kept.score <= 1.0
    run = replace(state.run, planned=len(world.store.trials)) if state.run is not None else None
    ended = act(replace(state, run=run), intents.GoOn(), world)
    end = view(ended, world)
    assert isinstance(end, EndView) and end.sentences


def test_marks_are_made_while_listening_and_the_pass_ends_by_itself(bench: Bench, drills: dict[str, Drill]) -> None:
    """Marks bear the time of the playhead; other keys do not touch the transport; round once, and it is answered."""
    world = make_world({"t": make_drill("mark_the_moment", drills)}, workshop=InlineWorkshop(bench), trials=1)
    state = tick(act(open_program(world), intents.StartDrill("t"), world), world)
    player = world.player
    player.frame = 48000 * 4  # type: ignore[attr-defined]
    state = tick(state, world)
    before = state
    for locked in (intents.Listen(1), intents.ToggleSound(), intents.OnlyWhatChanged()):
        assert replace(act(state, locked, world), message="") == before
    state = act(state, intents.MarkNow("click"), world)
    assert state.run is not None and state.run.trial is not None
    assert state.marks == ((48000 * 4 / state.run.trial.rate_hz, "click"),)
    player.frame = 10  # type: ignore[attr-defined]
    state = tick(state, world)
    assert isinstance(view(state, world), RevealView)
    assert state.run is not None and state.run.outcomes[0].answer.endswith("click")
