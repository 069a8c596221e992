"""The way from the cautions to the first drill: quiet at first, step by step, and every step can be left out."""

from __future__ import annotations

import pytest

from tests.fakes import FakePlayer, MemoryStore, make_world
from tests.text.typing import lead
from trainer.exercise.drill import Drill
from trainer.exercise.sound_check import LEVELS_LUFS
from trainer.ports import Output
from trainer.session import intents
from trainer.session.first_start import STEPS
from trainer.session.pages import Balance, PageView, Prose, Stages
from trainer.session.program import Opening
from trainer.session.screens import Program
from trainer.session.setup_names import read_note
from trainer.session.view import MessageView, TodayView
from trainer.session.world import World


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world in which nothing was set or heard yet."""
    return make_world(drills, setup="", store=MemoryStore())


def begin(world: World) -> Program:
    """Read the cautions and go on."""
    program = Program(world)
    program.act(intents.GoOn())
    return program


def show(program: Program) -> PageView:
    """Give the page that is shown."""
    shown = program.view()
    assert isinstance(shown, PageView)
    return shown


def read(program: Program) -> str:
    """Give all sentences of the page."""
    return " ".join(part.text for part in show(program).list_parts() if isinstance(part, Prose))


def find_player(world: World) -> FakePlayer:
    """Give the stand-in that plays."""
    assert isinstance(world.player, FakePlayer)
    return world.player


def test_the_noise_begins_quietly_and_only_when_it_is_asked_for(world: World) -> None:
    """Nothing sounds by itself; the first level is the quietest, and each step is the next one."""
    program, player = begin(world), find_player(world)
    assert not player.playing and player.loaded == [len(LEVELS_LUFS)]
    program.act(intents.MoveControl(1))
    assert player.selected == 0 and "The noise is off." in read(program)
    program.act(intents.ToggleSound())
    assert player.playing and player.selected == 0 and "−40 LUFS, 20 dB below the music" in read(program)
    heard = []
    for _ in range(len(LEVELS_LUFS) + 2):
        program.act(intents.MoveControl(1))
        heard.append(player.selected)
    assert heard[:4] == [1, 2, 3, 4] and set(heard[4:]) == {4} and "as loud as the music" in read(program)


def test_coming_back_to_the_level_it_is_quiet_again(world: World) -> None:
    """Whatever the last level was."""
    program, player = begin(world), find_player(world)
    program.act(intents.ToggleSound())
    for _ in range(4):
        program.act(intents.MoveControl(1))
    program.act(intents.GoOn())
    assert not player.playing
    program.act(intents.Do("step", "level"))
    assert program.state.first.level == 0 and player.selected == 0 and not player.playing


def test_left_right_middle_and_hollow(world: World) -> None:
    """By digits and arrows; the page says what each should sound like, before and while it is heard."""
    program, player = begin(world), find_player(world)
    program.act(intents.GoOn())
    labels = [b.label for p in show(program).list_parts() if isinstance(p, Balance) for b in p.versions]
    assert labels == ["1, left", "2, right", "3, middle", "4, hollow"] and not player.playing
    program.act(intents.Listen(1))
    assert player.playing and player.selected == 0
    program.act(intents.ListenOther(-1))
    assert player.selected == 3
    sounding = show(program).sounding
    assert sounding is not None and sounding.version == 4 and sounding.playing
    program.act(intents.Listen(5))
    assert player.selected == 3


def test_the_whole_way_to_the_first_drill(world: World) -> None:
    """A name, a note, and a run of what the plan begins with; once, and never again by itself."""
    program = begin(world)
    for step in STEPS[:2]:
        assert program.state.first.step == step
        program.act(intents.GoOn())
    program.act(intents.TypeText("small monitors"))
    program.act(intents.GoOn())
    program.act(intents.TypeText("at 60 %"))
    program.act(intents.GoOn())
    assert world.setup_in_force == "small monitors" and read_note(world.store, "small monitors") == "at 60 %"
    program.act(intents.GoOn())
    assert program.state.run is not None and program.state.run.setup == "small monitors"
    program.act(intents.GoBack())
    assert isinstance(program.view(), TodayView) and isinstance(Program(world).view(), TodayView)


def test_every_step_can_be_left_out(world: World) -> None:
    """Enter alone goes through all of it and changes nothing; Esc leaves at once from each."""
    for count in range(len(STEPS)):
        world.store.write_setting("cautions_seen", "no")
        program = begin(world)
        for _ in range(count):
            program.act(intents.GoOn())
        assert program.state.first.step == STEPS[count]
        program.act(intents.GoBack())
        assert isinstance(program.view(), TodayView) and not find_player(world).playing
    assert world.setup_in_force == "headphones" and world.store.read_setting("setup_notes", "{}") == "{}"


def test_a_name_that_cannot_be_is_one_line_and_the_step_stays(world: World) -> None:
    """Nothing is lost by it; a name that is there is used."""
    program = begin(world)
    program.act(intents.Do("step", "setup"))
    for name in ("silent", "x" * 50):
        program.act(intents.SetText(name))
        program.act(intents.GoOn())
        assert program.state.message and program.state.first.step == "setup"
    program.act(intents.SetText("headphones"))
    program.act(intents.GoOn())
    assert program.state.first.step == "volume"


def test_setup_can_do_it_again_and_it_ends_there(drills: dict[str, Drill]) -> None:
    """Without the first drill."""
    program = Program(make_world(drills, setup=""))
    program.act(intents.GoTo("setup"))
    program.act(intents.Do("page", "sound"))
    program.act(intents.GoTo("first"))
    stages = next(part for part in show(program).list_parts() if isinstance(part, Stages))
    assert len(stages.steps) == len(STEPS) - 1
    for _ in range(len(STEPS) - 1):
        program.act(intents.GoOn())
    assert program.state.screen == "setup" and program.state.run is None


def test_it_comes_only_where_it_can_be_heard_and_nothing_else_was_asked_for(drills: dict[str, Drill]) -> None:
    """Not without an output, and not before a drill that was named at the start."""
    silent = FakePlayer(Output("silent", "no output", 48000, 0.0, "Sound is off."))
    assert isinstance(begin(make_world(drills, store=MemoryStore(), player=silent)).view(), TodayView)
    program = Program(make_world(drills, store=MemoryStore()), Opening("limiting"))
    assert isinstance(program.view(), MessageView)
    program.act(intents.GoOn())
    assert program.state.screen == "run"


def test_in_a_terminal(world: World) -> None:
    """By numbers: noise on, louder, on to the sides, and out."""
    said = lead(begin(world), ["p", "+", "[Go on]", "1", "=0"])
    assert "The noise is at −35 LUFS" in said and "Listen: 1 left, 2 right, 3 middle, 4 hollow" in said
    assert "Playing 1." in said and not find_player(world).playing
