"""A tone after each answer: chosen in Setup, the same for right and wrong, or telling only what the screen tells."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import FakePlayer, FakeWorker, FakeWorkshop, MemoryStore, make_world
from tests.session.test_weigh import make_beam, open_beam
from tests.text.typing import lead
from trainer.exercise.drill import Drill
from trainer.exercise.trial import PreparedTrial
from trainer.session import intents
from trainer.session.answer_tones import CHOICES, RIGHT_HZ, SETTING, TAKEN_HZ, WRONG_HZ, choose_tones, read_choice
from trainer.session.pages import PageView
from trainer.session.screens import Program
from trainer.session.view import TrialView
from trainer.session.world import World


class NamedWorkshop(FakeWorkshop):
    """Give names to the takes, as forms of preference do."""

    def collect(self) -> PreparedTrial | None:
        made = super().collect()
        return made and replace(made, layout=replace(made.layout, names=("one", "two", "three")))


def make_world_with(drills: dict[str, Drill], choice: str) -> World:
    """Give a world of stand-ins in which a tone was chosen, and the right answer is 2."""
    store = MemoryStore(settings={"cautions_seen": "yes", SETTING: choice})
    return make_world(
        drills, store=store, workshop=FakeWorkshop(right=2), worker=FakeWorker([make_beam()]), trials=4, setup=""
    )


def get_player(world: World) -> FakePlayer:
    """Give the stand-in that plays."""
    assert isinstance(world.player, FakePlayer)
    return world.player


def answer(program: Program, *answers: str) -> None:
    """Give answers, going on after each."""
    for text in answers:
        program.tick()
        program.act(intents.GiveAnswer(text))
        program.act(intents.GoOn())


def test_pitch_tells_what_it_says() -> None:
    """Rising is upward in frequency, falling downward (by the words' meaning); one tone is neither."""
    assert RIGHT_HZ[0] < RIGHT_HZ[1] and WRONG_HZ[0] > WRONG_HZ[1] and len(TAKEN_HZ) == 1


@pytest.mark.parametrize(
    ("choice", "right", "wrong"),
    [("none", (), ()), ("one", TAKEN_HZ, TAKEN_HZ), ("telling", RIGHT_HZ, WRONG_HZ), ("spoilt", (), ())],
)
def test_a_drill_answered_right_and_wrong(
    choice: str, right: tuple[float, ...], wrong: tuple[float, ...], drills: dict[str, Drill]
) -> None:
    """2 is right, 1 is not: none, the same one, or two that tell; the loop goes on meanwhile."""
    world = make_world_with(drills, choice)
    program, player = Program(world), get_player(world)
    program.act(intents.StartDrill("high_shelf_8k"))
    program.tick()
    program.act(intents.Listen(3))
    assert not player.notes
    program.act(intents.GiveAnswer("2"))
    assert player.notes == ([right] if right else []) and player.playing
    program.act(intents.GoOn())
    program.tick()
    assert len(player.notes) == bool(right)
    program.act(intents.GiveAnswer("1"))
    assert player.notes == ([right, wrong] if right else [])


def test_an_answer_that_cannot_be_makes_no_tone(drills: dict[str, Drill]) -> None:
    """The question stays open, and nothing says that it was taken."""
    world = make_world_with(drills, "one")
    program = Program(world)
    program.act(intents.StartDrill("high_shelf_8k"))
    program.tick()
    program.act(intents.GiveAnswer("9"))
    assert program.state.message and not get_player(world).notes


def test_where_nothing_is_right_or_wrong_one_tone_says_taken(drills: dict[str, Drill]) -> None:
    """A drill of preference, whose answers are shown after the last one only."""
    world = replace(make_world_with(drills, "telling"), workshop=NamedWorkshop())
    program = Program(world)
    program.act(intents.StartDrill("prefer_limiting"))
    answer(program, "1", "2", "1", "2")
    assert get_player(world).notes == [TAKEN_HZ] * 4


@pytest.mark.parametrize("kind", ["prefer", "apart"])
@pytest.mark.parametrize("choice", ["one", "telling"])
def test_a_blind_round_never_tells(kind: str, choice: str, drills: dict[str, Drill]) -> None:
    """One tone for each pick, the last one too; none for a pick that was not taken."""
    world = make_world_with(drills, choice)
    program, player = open_beam(world), get_player(world)
    program.act(intents.Do("round", kind))
    program.act(intents.AnswerPlaying())
    assert not player.notes, "both have to be heard first"
    program.act(intents.GiveAnswer("1"))
    assert player.notes == [TAKEN_HZ]
    assert program.state.blind is not None
    program.state = replace(program.state, blind=replace(program.state.blind, gaps=1))
    program.act(intents.GiveAnswer("1"))
    assert player.notes == [TAKEN_HZ], "a gap in the sound: asked again"
    program.act(intents.TakeBack())
    assert player.notes == [TAKEN_HZ], "taking back is no answer"
    picks = 0
    while isinstance(program.view(), TrialView):
        program.act(intents.GiveAnswer("1"))
        picks += 1
    assert player.notes == [TAKEN_HZ] * (1 + picks) and picks >= 3


def test_it_is_chosen_in_setup_and_heard_there(drills: dict[str, Drill]) -> None:
    """By number or click; kept at once; the page says how to answer with eyes closed, and plays what was chosen."""
    world = make_world_with(drills, "")
    program = Program(world)
    program.act(intents.GoTo("setup"))
    program.act(intents.Do("page", "answers"))
    shown = program.view()
    assert isinstance(shown, PageView)
    bound = {name: intent for key in shown.frame.keys for name, intent in key.bindings}
    words = str(shown.list_parts())
    assert all(said in words for said in ("Enter answers with what is playing", "Backspace takes back", "Space pauses"))
    for number, choice in enumerate(CHOICES, 1):
        program.act(bound[str(number)])
        assert read_choice(world.store) == choice
    for name in ("taken", "right", "wrong"):
        program.act(intents.Do("hear", name))
    assert get_player(world).notes == [TAKEN_HZ, RIGHT_HZ, WRONG_HZ]
    program.act(intents.Do("hear", "other"))
    program.act(intents.Do("tones", "other"))
    assert read_choice(world.store) == "telling" and len(get_player(world).notes) == 3


def test_telling_needs_something_to_tell() -> None:
    """Neither right nor wrong gives the one tone, however it was chosen."""
    assert choose_tones("telling", None) == choose_tones("one", True) == choose_tones("one", False) == TAKEN_HZ
    assert not choose_tones("none", True)


def test_a_word_chooses_it_while_weighing_in_a_terminal(drills: dict[str, Drill]) -> None:
    """The same words as in a drill: kept at once, and heard after the next pick."""
    world = make_world_with(drills, "none")
    said = lead(open_beam(world), ["a tone", "[Begin: up to 12 picks]", "=1", "no tone", "=1"])
    assert "A tone after each answer, from now on." in said
    assert get_player(world).notes == [TAKEN_HZ] and read_choice(world.store) == "none"
