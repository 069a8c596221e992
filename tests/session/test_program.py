"""The middle: from intents to states, with a world of stand-ins."""

from __future__ import annotations

from dataclasses import replace

import pytest
from scipy.stats import binom

from tests.fakes import FakeClock, FakePlayer, FakeWorkshop, MemoryStore, make_trial, make_world
from trainer.dsp.moves import MOVES
from trainer.exercise.drill import Drill
from trainer.ports import Output
from trainer.session import intents
from trainer.session.program import Opening
from trainer.session.run import FEW_RIGHT, LAST_AT_LARGEST
from trainer.session.screens import Program
from trainer.session.view import DemonstrationView, EndView, MessageView, RevealView, TodayView, TrialView
from trainer.session.world import World


@pytest.fixture
def drills(drills: dict[str, Drill]) -> dict[str, Drill]:
    """Give two of the bundled drills."""
    return {name: drills[name] for name in ("high_shelf_8k", "limiting")}


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins, cautions seen."""
    return make_world(drills)


def begin(world: World, drill: str = "high_shelf_8k") -> Program:
    """Begin a drill and go on to its first question."""
    program = Program(world)
    program.act(intents.StartDrill(drill))
    program.tick()
    assert isinstance(program.view(), DemonstrationView)
    program.act(intents.GoOn())
    program.tick()
    assert isinstance(program.view(), TrialView)
    return program


def test_the_cautions_come_once_and_first(drills: dict[str, Drill]) -> None:
    """At the first start, before any sound; afterwards not again."""
    world = make_world(drills, store=MemoryStore())
    program = Program(world)
    shown = program.view()
    assert isinstance(shown, MessageView)
    text = " ".join(shown.sentences)
    for fact in ("80 dBA for 40 hours a week", "75 dBA", "3 dB", "audiologist", "physician", "local rules", "ring"):
        assert fact in text
    program.act(intents.StartDrill("limiting"))
    assert isinstance(program.view(), MessageView) and not world.player.loaded  # type: ignore[attr-defined]
    program.act(intents.GoOn())
    assert program.state.screen == "first"
    program.act(intents.GoBack())
    assert isinstance(program.view(), TodayView)
    assert isinstance(Program(world).view(), TodayView)


def test_a_whole_run_by_keys(world: World) -> None:
    """Example, ten questions, reveals, end; every answer is kept at once."""
    program = begin(replace(world, trials=None), "limiting")
    store, clock = world.store, world.clock
    assert isinstance(store, MemoryStore) and isinstance(clock, FakeClock)
    run = program.state.run
    assert run is not None
    for number in range(run.planned):
        clock.pass_time(5)
        program.act(intents.Listen(2 if number % 3 else 1))
        program.act(intents.AnswerPlaying())
        assert len(store.trials) == number + 1
        shown = program.view()
        assert isinstance(shown, RevealView)
        assert shown.right == bool(number % 3)
        assert shown.receipt[-1].measured == store.trials[-1].trial[:8]
        program.tick()
        program.act(intents.GoOn())
        program.tick()
    shown = program.view()
    assert isinstance(shown, EndView)
    assert {trial.response_s for trial in store.trials} == {5.0}
    assert len({trial.trial for trial in store.trials}) == len(store.trials)
    program.act(intents.GoOn())
    assert isinstance(program.view(), TodayView)


def test_the_difference_is_heard_only_after_the_answer(world: World) -> None:
    """It would give the answer away."""
    program, player = begin(world), world.player
    assert isinstance(player, FakePlayer)
    program.act(intents.OnlyWhatChanged())
    assert program.state.version == 1 and player.selected == 0
    program.act(intents.GiveAnswer("1"))
    program.act(intents.OnlyWhatChanged())
    assert player.selected == 3
    program.act(intents.Listen(3))
    assert player.selected == 2


def test_nothing_shown_during_a_question_depends_on_the_answer(drills: dict[str, Drill]) -> None:
    """The same views and the same player calls whichever version is processed, in every listening state."""
    seen = []
    for right in (1, 2, 3):
        world = make_world(drills, workshop=FakeWorkshop(right=right))
        program = begin(world)
        views = [program.view()]
        for intent in (intents.Listen(2), intents.Listen(3), intents.ListenOther(1), intents.ToggleSound()):
            program.act(intent)
            views.append(program.view())
        seen.append(views)
    assert seen[0] == seen[1] == seen[2]


def test_an_interrupted_trial_is_kept_but_does_not_count(world: World) -> None:
    """A glitch in the sound is no fault of the ear."""
    program, player = begin(world), world.player
    assert isinstance(player, FakePlayer) and isinstance(world.store, MemoryStore)
    before = program.state.run.track.estimate()  # type: ignore[union-attr]
    player.gaps = 1  # while the versions are loaded and faded in: not heard
    program.tick()
    world.clock.pass_time(3)  # type: ignore[attr-defined]
    player.gaps = 2
    program.tick()
    program.act(intents.GiveAnswer("2"))
    assert [trial.scored for trial in world.store.trials] == [False]
    assert program.state.run.track.estimate() == before  # type: ignore[union-attr]
    shown = program.view()
    assert isinstance(shown, RevealView) and "interrupted" in shown.ear_caption


def test_gaps_before_anything_is_heard_do_not_spoil_a_trial(world: World) -> None:
    """Loading versions may hold the callback up; the fade-in hides it."""
    program, player = begin(world), world.player
    assert isinstance(player, FakePlayer) and isinstance(world.store, MemoryStore)
    player.gaps = 1
    program.tick()
    world.clock.pass_time(3)  # type: ignore[attr-defined]
    program.act(intents.GiveAnswer("2"))
    assert [trial.scored for trial in world.store.trials] == [True]


def test_a_run_whose_sound_is_lost_does_not_count_from_there(world: World) -> None:
    """The output goes in the middle: answers are kept, but an ear that hears nothing is not measured."""
    program, player = begin(world), world.player
    assert isinstance(player, FakePlayer) and isinstance(world.store, MemoryStore)
    program.act(intents.GiveAnswer("2"))
    player.output = Output("silent", "no output", 48000, 0.0, "Sound is off.")
    for _ in range(2):
        program.tick()
        program.act(intents.GoOn())
        program.tick()
        program.act(intents.GiveAnswer("2"))
    assert [trial.scored for trial in world.store.trials] == [True, False, False]
    assert {trial.setup for trial in world.store.trials} == {"headphones"}


def test_listening_goes_on_after_a_pause(world: World) -> None:
    """A version that is asked for is heard; so is the loop after a question about leaving."""
    program, player = begin(world), world.player
    assert isinstance(player, FakePlayer)
    program.act(intents.ToggleSound())
    assert not player.playing
    program.act(intents.Listen(2))
    assert player.playing
    program.act(intents.GiveAnswer("2"))
    program.act(intents.GoBack())
    assert not player.playing
    program.act(intents.GoBack())
    assert player.playing


@pytest.mark.parametrize("seen", ["yes", "no"])
def test_a_drill_that_was_named_begins_in_its_full_length(drills: dict[str, Drill], seen: str) -> None:
    """At the first start after the cautions, later at once."""
    world = make_world(drills, store=MemoryStore(settings={"cautions_seen": seen}))
    program = Program(world, Opening("limiting"))
    if seen == "no":
        assert isinstance(program.view(), MessageView)
        program.act(intents.GoOn())
    run = program.state.run
    assert run is not None and run.drill.drill == "limiting" and run.planned == drills["limiting"].trials


def test_guessing_is_no_finding(world: World) -> None:
    """Answers at chance end at the edge of what can be tested, and the words say that and what to do."""
    program = begin(world)
    for number in range(30):
        answer(program, right=number % 3 == 0)
        go_on(program)
    shown = program.view()
    assert isinstance(shown, EndView)
    said = " ".join(shown.sentences)
    largest = f"{world.drills['high_shelf_8k'].amount.high:g} dB"
    assert shown.headline == f"Not told apart at {largest}." and "labelled example again" in said
    assert "no measurement" in said and f"asks up to {largest}" in said and "three in four" not in said
    standing = world.find_standing("high_shelf_8k")
    assert not standing.track.estimate().settled
    program.act(intents.GoOn())
    today = program.view()
    assert isinstance(today, TodayView)
    line = next(item for item in today.items if item.title == world.drills["high_shelf_8k"].title)
    assert line.amount.startswith("over ") and line.note == "practised today"


def answer(program: Program, right: bool) -> RevealView:
    """Answer a question, whose right answer is 2, and give the reveal."""
    program.act(intents.GiveAnswer("2" if right else "1"))
    program.tick()
    shown = program.view()
    assert isinstance(shown, RevealView)
    return shown


def go_on(program: Program) -> None:
    """Go on to the next question; three misses in a row bring a labelled example back, which is passed over."""
    program.act(intents.GoOn())
    program.tick()
    if isinstance(program.view(), DemonstrationView):
        program.act(intents.GoOn())
        program.tick()


def test_guessing_at_the_largest_amount_may_be_stopped_and_may_go_on(world: World) -> None:
    """After eight answers there, by a button and by E; before that, and to a better ear, it is not offered."""
    program, high = begin(world), world.drills["high_shelf_8k"].amount.high
    at_largest = 0
    for _ in range(29):
        run = program.state.run
        assert run is not None and run.trial is not None
        at_largest += run.trial.spec.amount > 0.99 * high
        shown = answer(program, right=False)
        assert (shown.stop is not None) == (at_largest >= 8)
        if shown.stop:
            break
        assert "Not told apart" not in shown.teaching
        program.act(intents.Do("end"))
        assert isinstance(program.view(), RevealView)
        go_on(program)
    assert shown.stop is not None and f"largest amount, {high:g} dB: 0 of the last 8 right" in shown.teaching
    assert ("e", shown.stop.intent) in [pair for key in shown.frame.keys for pair in key.bindings]
    go_on(program)
    assert isinstance(program.view(), TrialView)
    assert answer(program, right=True).stop is not None
    done = len(world.store.list_trials())
    program.act(intents.Do("end"))
    shown_last = program.view()
    assert isinstance(shown_last, EndView) and shown_last.headline == f"Not told apart at {high:g} dB."
    assert len(shown_last.marks) == done and not world.player.position().playing
    program.tick()
    program.act(intents.GoOn())
    assert isinstance(program.view(), TodayView)


def test_an_ear_that_tells_the_largest_amount_is_hardly_offered_to_stop() -> None:
    """Binomial distribution by scipy: 1 in 20 at most of those who tell three of four, most who guess at 1/3."""
    assert binom.cdf(FEW_RIGHT, LAST_AT_LARGEST, 0.75) < 0.05
    assert binom.cdf(FEW_RIGHT, LAST_AT_LARGEST, 1 / 3) > 0.5


def test_a_silent_run_touches_no_threshold(drills: dict[str, Drill]) -> None:
    """Without sound answers are kept under `silent`, and the screen says so."""
    silent = FakePlayer(output=Output("silent", "no output", 48000, 0.0, "No sound output was found."))
    world = make_world(drills, player=silent)
    program = begin(world)
    program.act(intents.GiveAnswer("2"))
    assert isinstance(world.store, MemoryStore)
    assert [trial.setup for trial in world.store.trials] == ["silent"]
    assert "No sound" in program.view().frame.notice
    with_sound = replace(world, player=FakePlayer())
    assert with_sound.find_standing("high_shelf_8k").track.estimate().trials == 0


def test_leaving_asks_first_and_loses_nothing(world: World) -> None:
    """Escape in the middle of a run."""
    program = begin(world)
    program.act(intents.GiveAnswer("2"))
    program.act(intents.GoBack())
    assert isinstance(program.view(), MessageView)
    program.act(intents.GoBack())
    assert isinstance(program.view(), RevealView)
    program.act(intents.GoBack())
    program.act(intents.GoOn())
    assert isinstance(program.view(), TodayView)
    assert len(world.store.list_trials()) == 1


def test_the_program_is_closed_by_keys_and_asks_first(world: World) -> None:
    """Escape on the first screen, then Enter; or Escape again to stay."""
    program = Program(world)
    program.act(intents.GoBack())
    assert isinstance(program.view(), MessageView)
    program.act(intents.GoBack())
    assert isinstance(program.view(), TodayView) and not program.finished
    program.act(intents.GoBack())
    program.act(intents.GoOn())
    assert program.finished


def test_a_trial_that_cannot_be_made_is_said(drills: dict[str, Drill]) -> None:
    """The person is told what is wrong, and comes back to the first screen."""
    world = make_world(drills, workshop=FakeWorkshop(failure="mix: level_above_corner_db=−60, expected more"))
    program = Program(world)
    program.act(intents.StartDrill("high_shelf_8k"))
    program.tick()
    shown = program.view()
    assert isinstance(shown, MessageView) and shown.frame.notice.startswith("mix: level_above_corner_db")
    program.act(intents.GoOn())
    assert isinstance(program.view(), TodayView)


def test_a_slow_workshop_shows_that_it_works(drills: dict[str, Drill]) -> None:
    """Waiting can be left."""
    workshop = FakeWorkshop(held_back=True)
    program = Program(make_world(drills, workshop=workshop))
    program.act(intents.StartDrill("limiting"))
    program.tick()
    shown = program.view()
    assert isinstance(shown, MessageView) and shown.busy
    workshop.held_back = False
    program.tick()
    assert isinstance(program.view(), DemonstrationView)
    program.act(intents.GoBack())
    assert isinstance(program.view(), TodayView)


def test_a_run_with_a_number_of_trials_has_no_examples(world: World) -> None:
    """`--trials N`: exactly N scored trials."""
    program = Program(replace(world, trials=2))
    program.act(intents.StartDrill("limiting"))
    program.tick()
    for _ in range(2):
        assert isinstance(program.view(), TrialView)
        program.act(intents.GiveAnswer("1"))
        program.tick()
        program.act(intents.GoOn())
        program.tick()
    assert isinstance(program.view(), EndView)


def test_theme_and_size_are_kept(world: World) -> None:
    """What a person chose is there next time."""
    program = Program(world)
    program.act(intents.ChangeTheme())
    for _ in range(3):
        program.act(intents.ChangeTextSize(1))
    again = Program(world).view()
    assert again.frame.theme == "night" and again.frame.text_percent == 130


def test_the_questions_follow_the_ear(world: World) -> None:
    """After right answers less is asked, after wrong ones more (the method's own rule)."""
    workshop = world.workshop
    assert isinstance(workshop, FakeWorkshop)

    def amounts(answer: str) -> list[float]:
        program = begin(replace(world, store=MemoryStore(settings={"cautions_seen": "yes"})))
        first = len(workshop.wanted) - 1
        for _ in range(5):
            program.act(intents.GiveAnswer(answer))
            program.tick()
            program.act(intents.GoOn())
            program.tick()
        return [spec.amount for spec in workshop.wanted[first:]]

    right, wrong = amounts("2"), amounts("1")
    assert right[-1] < right[0] < wrong[-1]
    assert all(0.25 <= amount <= 12 for amount in right + wrong)


def test_an_amount_has_one_form_in_the_sentence_and_on_the_button(drills: dict[str, Drill]) -> None:
    """What the move says of 2 dB is what the version's button says of 2 dB."""
    said = MOVES["level"].describe({"level_db": 2.0})[0].split(" of ")[0]
    program = Program(
        make_world(drills | {"level": replace(drills["limiting"], drill="level", move="level", signed=True)})
    )
    program.act(intents.StartDrill("level"))
    for _ in range(2):
        program.tick()
        program.act(intents.GoOn())
    program.tick()
    run = program.state.run
    assert run is not None and run.trial is not None
    spec = replace(run.trial.spec, amount=2.0)
    program.state = replace(program.state, run=replace(run, trial=make_trial(spec, 2)))
    assert said in answer(program, right=True).versions[1].label
