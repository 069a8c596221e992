"""What can be set: shown as it is, kept at once, and one line where something cannot be."""

from __future__ import annotations

import json

import pytest

from tests.fakes import FakeEquipment, FakeFiles, FakePlayer, MemoryStore, make_world
from tests.text.typing import lead
from tests.week.quick import make_stored
from trainer.exercise.drill import Drill
from trainer.ports import Output
from trainer.session import intents
from trainer.session.pages import Choices, Entry, Items, PageView, Prose, Sheet
from trainer.session.screens import Program
from trainer.session.setup_names import LONGEST_NAME, list_names, read_note
from trainer.session.setup_place import PAGES
from trainer.session.view import PlanItem, TodayView
from trainer.session.world import World

DAY = 741_600


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world in which no set-up was named for the session."""
    return make_world(drills, setup="")


def open_page(world: World, page: str = "") -> Program:
    """Open Setup, and a page of it."""
    program = Program(world)
    program.act(intents.GoTo("setup"))
    if page:
        program.act(intents.Do("page", page))
    return program


def show(program: Program) -> PageView:
    """Give the page that is shown."""
    shown = program.view()
    assert isinstance(shown, PageView)
    return shown


def read(program: Program) -> str:
    """Give all sentences, lines and buttons of the page."""
    shown = show(program)
    lines = [shown.headline, shown.sentence]
    for part in shown.list_parts():
        lines += [part.text] if isinstance(part, Prose) else []
        lines += [button.label for button in part.buttons] if isinstance(part, Choices) else []
        lines += [f"{i.title} {i.detail} {i.note}" for i in part.items] if isinstance(part, Items) else []
    return "\n".join(lines)


def list_items(program: Program) -> tuple[PlanItem, ...]:
    """List the lines that are shown."""
    return next(part.items for part in show(program).list_parts() if isinstance(part, Items))


def type_line(program: Program, text: str) -> None:
    """Type a line and press Enter."""
    program.act(intents.TypeText(text))
    program.act(intents.GoOn())


def test_every_page_opens_by_key_by_number_and_by_arrows_and_goes_back(world: World) -> None:
    """Esc goes to the list, to the line that was open, and from there to Today."""
    program = open_page(world)
    bound = {name: intent for key in show(program).frame.keys for name, intent in key.bindings}
    for number, page in enumerate(PAGES, 1):
        assert bound[str(number)] == intents.Do("page", page)
        program.act(bound[str(number)])
        assert program.state.setting.page == page
        program.act(intents.GoBack())
        assert [item.number for item in list_items(program) if item.selected] == [number]
        program.act(intents.GoOn())
        assert program.state.setting.page == page
        program.act(intents.GoBack())
    program.act(intents.ListenOther(1))
    assert list_items(program)[0].selected
    program.act(intents.GoBack())
    assert isinstance(program.view(), TodayView)


def test_sound_is_shown_as_the_system_tells(world: World) -> None:
    """Output, rate, latency, and every kind of output a line."""
    said = read(open_page(world, "sound"))
    assert "test output (sdl), 48 kHz, 100 ms latency" in said
    sheet = next(part for part in show(open_page(world, "sound")).columns[0] if isinstance(part, Sheet))
    assert len(sheet.parts) == 2


def test_the_test_tone_counts_its_interruptions_and_ends(world: World) -> None:
    """On, two gaps, off; gone from the page it is silent."""
    player = world.player
    assert isinstance(player, FakePlayer)
    program = open_page(world, "sound")
    player.gaps = 3  # from before
    program.act(intents.ToggleSound())
    assert player.playing and "Interruptions so far: 0." in read(program)
    player.gaps = 2
    program.tick()
    assert "Interruptions so far: 2." in read(program) and "Stop the tone" in read(program)
    program.act(intents.ToggleSound())
    assert not player.playing
    program.act(intents.ToggleSound())
    program.act(intents.GoBack())
    assert not player.playing


def test_without_an_output_nothing_is_said_to_be_heard(drills: dict[str, Drill]) -> None:
    """A silent clock has no interruptions, so their number would mislead."""
    player = FakePlayer(Output("silent", "no output", 48000, 0.0, "Sound is off."))
    program = open_page(make_world(drills, setup="", player=player), "sound")
    program.act(intents.ToggleSound())
    assert "the tone cannot be heard" in read(program) and "Interruptions" not in read(program)


def test_a_set_up_is_added_used_and_noted(world: World) -> None:
    """Answers count for it at once; the note stays with it."""
    program = open_page(world, "setups")
    assert world.setup_in_force == "headphones"
    type_line(program, "small monitors")
    assert world.setup_in_force == "small monitors" and "is in use" in show(program).sentence
    program.act(intents.Do("page", "note"))
    type_line(program, "interface at 11 o’clock")
    assert read_note(world.store, "small monitors") == "interface at 11 o’clock"
    assert "small monitors interface at 11 o’clock in use" in read(program)
    program.act(intents.Do("use", "headphones"))
    assert world.setup_in_force == "headphones" and list_names(world.store) == ("headphones", "small monitors")
    program.act(intents.ListenOther(1))
    program.act(intents.GoOn())
    assert world.setup_in_force == "small monitors"


@pytest.mark.parametrize("name", ["headphones", "silent", "x" * (LONGEST_NAME + 1), "   ."[:3]])
def test_names_that_cannot_be_are_one_line_and_change_nothing(name: str, world: World) -> None:
    """Taken, reserved, too long; blanks alone are nothing typed."""
    program = open_page(world, "setups")
    type_line(program, name)
    assert list_names(world.store) == ("headphones",)
    assert bool(program.state.message) == bool(name.strip()) and "\n" not in program.state.message


def test_what_was_named_for_the_session_stays_until_the_next(drills: dict[str, Drill]) -> None:
    """And that is said."""
    world = make_world(
        drills, setup="monitors", store=MemoryStore(settings={"cautions_seen": "yes", "setups": '["car"]'})
    )
    program = open_page(world, "setups")
    program.act(intents.Do("use", "car"))
    assert world.setup_in_force == "monitors" and "from the next start" in show(program).sentence
    assert world.store.read_setting("setup", "") == "car"


def test_what_a_set_up_was_said_to_play_is_shown(drills: dict[str, Drill]) -> None:
    """The last answer of the lesson, and nothing where it was not asked."""
    trials = [make_stored(drills["set_up_low"], DAY, n, answer=answer) for n, answer in enumerate(("yes", "no"))]
    program = open_page(make_world(drills, setup="", store=MemoryStore(trials, {"cautions_seen": "yes"})), "setups")
    assert list_items(program)[0].detail == "the lowest bass: no"


@pytest.mark.parametrize("value", ["{", '["a"]', "3", '{"headphones": 5}'])
def test_settings_that_were_spoilt_are_passed_over(value: str, drills: dict[str, Drill]) -> None:
    """Whatever stands in the file, the page opens."""
    settings = {"cautions_seen": "yes", "setups": value, "setup_notes": value}
    program = open_page(make_world(drills, setup="", store=MemoryStore(settings=settings)), "setups")
    assert list_items(program)[0].title == "headphones"


def test_theme_and_text_are_kept(world: World) -> None:
    """As they are with the keys; the limits are those that are shown."""
    program = open_page(world, "look")
    program.act(intents.Do("theme", "night"))
    program.act(intents.Do("theme", "night"))
    assert show(program).frame.theme == "night" == world.store.read_setting("theme", "")
    for _ in range(30):
        program.act(intents.ChangeTextSize(1))
    assert "Text at 250 %\n80 to 250 %." in read(program)
    for _ in range(30):
        program.act(intents.ChangeTextSize(-1))
    assert show(program).frame.text_percent == 80 and world.store.read_setting("text_percent", "") == "80"


def test_histories_go_out_and_come_in_by_path(drills: dict[str, Drill]) -> None:
    """Typed, completed or dropped; what came of it is said, and what went wrong is one line."""
    equipment = FakeEquipment()
    world = make_world(drills, equipment=equipment, files=FakeFiles(("/music/stick/",)))
    program = open_page(world, "history")
    assert "/data" in read(program)
    program.act(intents.TypeText("/music/st"))
    program.act(intents.CompleteText())
    type_line(program, "ears.jsonl")
    assert equipment.written == ["/music/stick/ears.jsonl"] and "3 trials written" in show(program).sentence
    program.act(intents.Do("carry", "merge"))
    program.act(intents.DropFile("/music/other.jsonl"))
    program.act(intents.GoOn())
    assert equipment.taken_in == ["/music/other.jsonl"] and "1 of 3 were there already" in show(program).sentence
    equipment.failure = "history: file=/music/a, expected a file that does not exist yet"
    program.act(intents.Do("carry", "export"))
    type_line(program, "a")
    assert program.state.message == equipment.failure and program.state.typed == "a"


def test_the_cautions_can_be_read_again(world: World) -> None:
    """The WHO/ITU reference (H.870: 80 dBA for 40 hours a week, adults; 75 dBA for sensitive listeners)."""
    said = read(open_page(world, "hearing"))
    for fact in ("80 dBA for 40 hours a week", "75 dBA", "audiologist", "local rules"):
        assert fact in said


def test_at_most_one_line_is_typed_on_a_page(world: World) -> None:
    """Or the keys could not know which one is meant."""
    for page in (*PAGES, "note"):
        parts = show(open_page(world, page)).list_parts()
        assert sum(isinstance(part, Entry) for part in parts) <= 1


def test_in_a_terminal(world: World) -> None:
    """By numbers and words."""
    said = lead(open_page(world), ["[Listening set-up]", "=small monitors", "=0", "[Hearing]"])
    assert "small monitors is in use" in said and "audiologist" in said
    assert json.loads(world.store.read_setting("setups", "")) == ["small monitors"]
