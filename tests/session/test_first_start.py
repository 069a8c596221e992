"""The way from the cautions to the first drill: silent at first, step by step, and every step can be left out."""

from __future__ import annotations

import pytest

from tests.fakes import FakePlayer, FakeWorkshop, MemoryStore, make_trial, make_world
from tests.text.typing import lead
from trainer.dsp.matching import PLAYED_LUFS
from trainer.dsp.moves import MOVES
from trainer.exercise.drill import Drill
from trainer.exercise.sound_check import SIDES, SIDES_LUFS
from trainer.ports import Output
from trainer.session import intents
from trainer.session.first_start import STEPS
from trainer.session.pages import Balance, Choices, PageView, Prose, Stages
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


def list_labels(program: Program) -> list[str]:
    """Give what the page offers to press."""
    return [b.label for p in show(program).list_parts() if isinstance(p, Choices) for b in p.buttons]


def find_player(world: World) -> FakePlayer:
    """Give the stand-in that plays."""
    assert isinstance(world.player, FakePlayer)
    return world.player


def test_music_sounds_only_when_it_is_started_and_a_level_is_claimed_only_after_it(world: World) -> None:
    """One version and nothing to switch to, as loud as the drills; before it sounded nothing is said to be set."""
    program, player = begin(world), find_player(world)
    claimed = "I have set a comfortable level"
    assert not player.playing and not player.loaded and "Nothing sounds." in read(program)
    program.act(intents.ToggleSound())
    assert not player.playing
    program.tick()
    assert not player.playing and player.loaded == [1] and claimed not in list_labels(program)
    loudness_lufs = make_trial(world.workshop.wanted[0], 2).versions[0].loudness_lufs  # type: ignore[attr-defined]
    assert f"will play at {loudness_lufs:.1f} LUFS".replace("-", "−") in read(program)
    program.act(intents.ToggleSound())
    assert player.playing and player.selected == 0 and claimed in list_labels(program)
    program.act(intents.ToggleSound())
    assert not player.playing and claimed in list_labels(program)
    program.act(intents.GoOn())
    assert program.state.first.step == "sides"


def test_what_is_played_is_the_loop_as_it_is(world: World) -> None:
    """A labelled example, whose first version nothing was done to, of a drill that matches loudness."""
    begin(world)
    (spec,) = world.workshop.wanted  # type: ignore[attr-defined]
    assert spec.demonstration and not make_trial(spec, 2).versions[0].processed and MOVES[spec.drill.move].matched


def test_the_cautions_claim_no_level(world: World) -> None:
    """Nothing has sounded yet, so nobody can have set a level for it."""
    page = Program(world).view()
    assert isinstance(page, MessageView)
    assert not any("have set" in button.label for button in page.buttons)


def test_the_noise_is_never_the_louder_one(world: World) -> None:
    """Whoever goes by the noise finds the music louder: the page says by how much, and not to turn it up."""
    program = begin(world)
    program.act(intents.GoOn())
    said = read(program)
    assert SIDES_LUFS == PLAYED_LUFS - 10 and "10 dB below the music" in said and "Do not turn it up" in said


def test_coming_back_to_the_level_the_music_is_silent_again(world: World) -> None:
    """The same music, not made again; it waits to be started, and no level is claimed."""
    program, player = begin(world), find_player(world)
    program.tick()
    program.act(intents.ToggleSound())
    program.act(intents.GoOn())
    assert not player.playing
    program.act(intents.Do("step", "level"))
    assert not player.playing and player.loaded == [1, len(SIDES), 1] and not program.state.first.heard
    assert len(world.workshop.wanted) == 1  # type: ignore[attr-defined]


def test_music_that_comes_late_does_not_take_the_place_of_the_noise(world: World) -> None:
    """What is loaded stays loaded until the step that plays music is open."""
    program, player = begin(world), find_player(world)
    program.act(intents.GoOn())
    program.act(intents.Listen(1))
    program.tick()
    assert player.loaded == [len(SIDES)] and player.playing
    program.act(intents.Do("step", "level"))
    assert player.loaded == [len(SIDES), 1] and not player.playing


def test_without_music_the_check_goes_on(drills: dict[str, Drill]) -> None:
    """One line says why; Enter goes on."""
    failing = FakeWorkshop(failure="songs: count=0, expected at least one")
    program = begin(make_world(drills, setup="", store=MemoryStore(), workshop=failing))
    program.tick()
    assert program.state.message == failing.failure and "no music" in read(program)
    program.act(intents.GoOn())
    assert program.state.first.step == "sides"


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
    """By numbers: music on, on to the sides, and out."""
    said = lead(begin(world), ["p", "[I have set a comfortable level]", "1", "=0"])
    assert "Music is playing, at −18.4 LUFS" in said and "Listen: 1 left, 2 right, 3 middle, 4 hollow" in said
    assert "Playing 1." in said and not find_player(world).playing
