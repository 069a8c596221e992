"""All drills: found by family or by typing, read about before they are started."""

from __future__ import annotations

import pytest

from tests.fakes import FakeWorkshop, MemoryStore, make_world
from tests.text.typing import lead
from tests.week.quick import make_stored
from trainer.exercise.drill import Drill
from trainer.exercise.families import FAMILIES
from trainer.session import intents
from trainer.session.drills_search import find_drills
from trainer.session.drills_view import HINT, MOST_FOUND
from trainer.session.pages import Items, PageView, Prose, Sheet
from trainer.session.screens import Program
from trainer.session.view import DemonstrationView, PlanItem, TodayView
from trainer.session.world import World

DAY = 741_600


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give all bundled drills and no history."""
    return make_world(drills)


def open_drills(world: World, *typed: str) -> Program:
    """Open the list, and type."""
    program = Program(world)
    program.act(intents.GoTo("drills"))
    for text in typed:
        program.act(intents.TypeText(text))
    return program


def show(program: Program) -> PageView:
    """Give the page that is shown."""
    shown = program.view()
    assert isinstance(shown, PageView)
    return shown


def list_items(program: Program) -> tuple[PlanItem, ...]:
    """List the lines that are shown."""
    return next((part.items for part in show(program).list_parts() if isinstance(part, Items)), ())


def read_sheet(program: Program) -> tuple[str, list[str]]:
    """Read what is said of the chosen drill."""
    sheet = next(part for column in show(program).columns for part in column if isinstance(part, Sheet))
    return sheet.title, [part.text for part in sheet.parts if isinstance(part, Prose)]


def test_every_drill_is_reached_through_its_family(world: World) -> None:
    """Twelve families in their order, and through them every drill once."""
    program = open_drills(world)
    families = [item.title for item in list_items(program)]
    assert families == [family for family in FAMILIES if family in families]
    seen = []
    for family in families:
        program.act(intents.Do("family", family))
        seen += [item.intent.value for item in list_items(program) if isinstance(item.intent, intents.Do)]
        assert show(program).headline == family
        program.act(intents.GoBack())
    assert sorted(seen) == sorted(world.drills) and len(seen) == len(set(seen))


def test_by_keys_to_a_family_a_drill_and_back_to_the_same_place(world: World) -> None:
    """Down, open, down, start; at the end of the run the list is where it was."""
    program = open_drills(world)
    program.act(intents.ListenOther(1))
    program.act(intents.GoOn())
    family = show(program).headline
    program.act(intents.ListenOther(1))
    chosen = next(item.title for item in list_items(program) if item.selected)
    program.act(intents.GoOn())
    program.tick()
    assert isinstance(program.view(), DemonstrationView)
    program.act(intents.GoBack())
    assert program.state.screen == "drills" and show(program).headline == family
    assert (
        program.state.run is None
        and chosen == [drill.title for drill in world.drills.values() if drill.subject == family][1]
    )


@pytest.mark.parametrize(
    ("typed", "drill"),
    [("brigh", "high_shelf_8k"), ("8 kHz", "high_shelf_8k"), ("8khz", "high_shelf_8k"), ("mp3", "mp3"),
     ("HUM", "hum"), ("low-end", "high_pass"), ("limiting", "limiting"), ("ms", "set_release")],
)  # fmt: skip
def test_typing_finds_by_sound_subject_and_unit(world: World, typed: str, drill: str) -> None:
    """Whole drills by what a person may call them: by sound, place in the spectrum, family, unit."""
    assert drill in [found.drill for found in find_drills(world.drills.values(), typed)]


def test_the_examples_that_are_offered_find_something(world: World) -> None:
    """A hint that finds nothing would mislead."""
    for word in HINT.split(": ")[1].split(", "):
        assert find_drills(world.drills.values(), word)


def test_letters_go_to_the_line_and_enter_starts_the_first_one_found(world: World) -> None:
    """Esc clears the line first, then closes the family, then leaves."""
    program = open_drills(world)
    program.act(intents.Do("family", "Stereo"))
    program.act(intents.TypeText("bright"))
    items = list_items(program)
    assert items[0].selected and "right" in items[0].title.casefold()
    program.act(intents.GoBack())
    assert show(program).headline == "Stereo"
    program.act(intents.GoBack())
    assert show(program).headline == "Drills" and [item.title for item in list_items(program) if item.selected] == [
        "Stereo"
    ]
    program.act(intents.GoBack())
    assert isinstance(program.view(), TodayView)
    program = open_drills(world, "swirl", " cymbals")
    program.act(intents.GoOn())
    assert program.state.run is not None and program.state.run.drill.drill == "mp3"


def test_nothing_found_is_said_and_enter_does_nothing(world: World) -> None:
    """An empty list is an answer."""
    program = open_drills(world, "qqq")
    assert show(program).headline == "No drills found" and not list_items(program)
    program.act(intents.ListenOther(1))
    program.act(intents.GoOn())
    assert program.state.screen == "drills"


def test_a_long_list_says_how_much_is_left_and_reaches_it(world: World) -> None:
    """Arrows go through all that was found, and what is chosen stays in sight."""
    program = open_drills(world, "db")
    found = find_drills(world.drills.values(), "db")
    assert len(found) > MOST_FOUND == len(list_items(program))
    words = [part.text for part in show(program).list_parts() if isinstance(part, Prose)]
    assert f"{len(found) - MOST_FOUND} more; another word narrows it." in words
    for _ in range(len(found) - 1):
        program.act(intents.ListenOther(1))
    assert next(item.title for item in list_items(program) if item.selected) == found[-1].title


def test_teaching_can_be_read_before_a_drill_is_started(world: World) -> None:
    """Choosing shows it; nothing is begun by it."""
    program = open_drills(world)
    program.act(intents.Do("family", "Balance"))
    program.act(intents.Do("show", "tilt" if "tilt" in world.drills else "high_shelf_8k"))
    name = program.state.drills.chosen
    title, lines = read_sheet(program)
    drill = world.drills[name]
    assert title == drill.title and {drill.question, drill.teaching.does, drill.teaching.listen} <= set(lines)
    assert program.state.run is None and "Your ear: not yet heard." in lines


def test_the_amount_reached_stands_beside_a_drill_once_it_was_heard(drills: dict[str, Drill]) -> None:
    """A range with its unit, and only where there were answers on this set-up."""
    trials = [make_stored(drills["high_shelf_8k"], DAY, n) for n in range(10)]
    trials += [make_stored(drills["bell_1k"], DAY, n, setup="monitors") for n in range(10)]
    program = open_drills(make_world(drills, store=MemoryStore(trials, {"cautions_seen": "yes"})))
    assert "2 practised" in next(item.note for item in list_items(program) if item.title == "Balance")
    program.act(intents.Do("family", "Balance"))
    amounts = {item.title: item.amount for item in list_items(program)}
    assert amounts.pop(drills["high_shelf_8k"].title).endswith(" dB")
    assert set(amounts.values()) == {""}


def test_what_the_set_up_does_not_play_is_said_and_not_started(drills: dict[str, Drill]) -> None:
    """As it was answered in the lesson, by ear; not asked yet is another thing than no."""
    program = open_drills(make_world(drills))
    program.act(intents.Do("family", "Low end"))
    assert "asks first for the lowest bass" in {item.note for item in list_items(program)}
    said = make_stored(drills["set_up_low"], DAY, answer="no", right_answer="", correct=None, task="")
    program = open_drills(make_world(drills, store=MemoryStore([said], {"cautions_seen": "yes"})))
    assert "not on this set-up" in next(item.note for item in list_items(program) if item.title == "Low end")
    program.act(intents.Do("show", "high_pass"))
    program.act(intents.Do("family", "Low end"))
    program.act(intents.Do("show", "high_pass"))
    program.act(intents.GoOn())
    assert program.state.run is None and "set-up=headphones" in program.state.message


def test_what_an_own_mix_does_not_allow_is_said(drills: dict[str, Drill]) -> None:
    """A finished mix has no separate parts, and no reference comes with it."""
    program = open_drills(make_world(drills, audio_class="own", song_title="Mix 4"))
    program.act(intents.Do("family", "Judgement"))
    notes = {item.note for item in list_items(program)}
    assert {"needs a song's separate parts", "needs a reference song"} <= notes


def test_in_a_terminal(drills: dict[str, Drill]) -> None:
    """Words look for a drill, its text is read out, and a number starts it."""
    program = open_drills(make_world(drills, workshop=FakeWorkshop()))
    said = lead(program, ["=swirl"])
    assert "One drill found" in said and drills["mp3"].teaching.listen in said
    lead(program, ["[Start]"])
    assert program.state.run is not None and program.state.run.drill.drill == "mp3"
