"""What a set-up plays is asked once by ear; three misses bring the example back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import FakeWorkshop, MemoryStore, make_world
from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.program import act, open_program, tick
from trainer.session.screens import view
from trainer.session.state import State
from trainer.session.view import DemonstrationView, EndView, MessageView, TodayView
from trainer.session.world import World


@pytest.fixture
def low_drills(drills: dict[str, Drill]) -> dict[str, Drill]:
    """Give a drill that needs the lowest bass, and the lesson that asks for it."""
    plain = drills["high_shelf_8k"]
    check = replace(plain, drill="ask_low", skill="ask_low", form="lesson", subject="Set-up", reach="low", trials=1)
    return {"ask_low": check, "deep": replace(plain, drill="deep", skill="deep", reach="low")}


def answer(state: State, text: str, world: World) -> State:
    """Answer, and go on until the next screen stands."""
    state = act(state, intents.GiveAnswer(text), world)
    return tick(act(state, intents.GoOn(), world), world)


class LessonWorkshop(FakeWorkshop):
    """Make lessons that can be answered by yes and no."""

    def collect(self):  # type: ignore[no-untyped-def]
        """Put the lesson's own answers in."""
        made = super().collect()
        if made is None or made.spec.drill.form != "lesson":
            return made
        return replace(made, layout=replace(made.layout, answers=("yes", "no"), right_answer=""))


def test_it_is_asked_before_the_first_drill_that_needs_it(low_drills: dict[str, Drill]) -> None:
    """Yes: the drill begins at once, and the next time it is not asked again."""
    world = make_world(low_drills, workshop=LessonWorkshop())
    state = tick(act(open_program(world), intents.StartDrill("deep"), world), world)
    assert state.run is not None and state.run.drill.drill == "ask_low"
    state = answer(state, "yes", world)
    assert (
        state.run is not None and state.run.drill.drill == "deep" and isinstance(view(state, world), DemonstrationView)
    )
    again = act(open_program(world), intents.StartDrill("deep"), world)
    assert again.run is not None and again.run.drill.drill == "deep"


def test_what_a_set_up_does_not_play_is_not_asked_there(low_drills: dict[str, Drill]) -> None:
    """No: the lesson ends, the drill is refused with a line, and another set-up is asked anew."""
    world = make_world(low_drills, workshop=LessonWorkshop())
    state = tick(act(open_program(world), intents.StartDrill("deep"), world), world)
    state = answer(state, "no", world)
    assert isinstance(view(state, world), EndView)
    state = act(act(state, intents.GoOn(), world), intents.StartDrill("deep"), world)
    assert isinstance(view(state, world), TodayView) and "ask_low asks again" in state.message
    with pytest.raises(BadValue, match="set-up=headphones"):
        world.find_lesson_first("deep")
    assert replace(world, setup="big monitors").find_lesson_first("deep") == "ask_low"


def test_nothing_is_asked_where_so_many_trials_are_wanted_or_nothing_is_heard(low_drills: dict[str, Drill]) -> None:
    """`--trials N` gives exactly these; a silent run needs no bass."""
    assert make_world(low_drills, trials=3).find_lesson_first("deep") == ""
    silent = make_world(low_drills)
    silent.player.output = replace(silent.player.output, kind="silent")  # type: ignore[attr-defined]
    assert silent.find_lesson_first("deep") == ""


def test_three_misses_in_a_row_bring_the_example_back(drills: dict[str, Drill]) -> None:
    """Large and named; counted anew afterwards; not where so many trials were asked for."""
    for trials in (None, 8):
        world = make_world({"high_shelf_8k": drills["high_shelf_8k"]}, trials=trials, workshop=FakeWorkshop(right=2))
        state = tick(act(open_program(world), intents.StartDrill("high_shelf_8k"), world), world)
        if trials is None:
            state = tick(act(state, intents.GoOn(), world), world)
        shown = []
        for given in ("1", "1", "1", "1", "2", "3", "3"):
            state = answer(state, given, world)
            shown.append(isinstance(view(state, world), DemonstrationView))
            if shown[-1]:
                state = tick(act(state, intents.GoOn(), world), world)
        assert shown == [False, False, trials is None, False, False, False, False]
        assert isinstance(world.store, MemoryStore) and len(world.store.trials) == 7


def test_music_that_cannot_carry_a_question_is_named_and_others_are_offered(drills: dict[str, Drill]) -> None:
    """The line of the refusal stands on the page; the drills offered make other moves, and one of them starts."""
    workshop = FakeWorkshop(failure="My mix: strong hits, expected two or more in four bars")
    world = make_world(drills, workshop=workshop, audio_class="own", song_title="My mix")
    state = tick(act(open_program(world), intents.StartDrill("limiting"), world), world)
    shown = view(state, world)
    assert isinstance(shown, MessageView) and "strong hits" in state.message
    offered = [button.intent.drill for button in shown.buttons if isinstance(button.intent, intents.StartDrill)]
    assert offered and "limiting" not in offered
    assert all(world.drills[name].move != "limiter" for name in offered)
    workshop.failure = ""
    state = tick(act(state, intents.StartDrill(offered[0]), world), world)
    assert state.run is not None and state.run.drill.drill == offered[0]
