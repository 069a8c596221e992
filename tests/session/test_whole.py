"""The last question, and the loudness: what is asked next, in which order, and what waits for another day."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.decisions.sheets import make_round
from tests.fakes import FakePlayer, make_world
from tests.session.test_mixes import SHELF, answer_all, get_sheet, hear, open_mix, prefer, read
from trainer.decisions.sheet import Candidate, Loudness, Rung
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.enter import find_main
from trainer.session.mixes.moving import keep
from trainer.session.mixes.whole import WHOLE, act_on_whole, find_question, word_whole
from trainer.session.pages import Choices, Items
from trainer.session.pages import Sheet as Card
from trainer.session.screens import Program
from trainer.session.view import Button, PlanItem
from trainer.session.world import World

BELL = replace(SHELF, candidate="bell_400", move="bell", settings={"centre_hz": 400.0, "centre_gain_db": 1.0})
TILT = replace(SHELF, candidate="tilt", move="tilt", settings={"pivot_hz": 700.0, "tilt_db": 1.0})
RUNGS = tuple(Rung(lufs, lufs, 3.0 + n) for n, lufs in enumerate((-16.0, -14.0, -12.5, -11.0)))
EVERYTHING = "All moves against the untouched mix"


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins."""
    return make_world({"limiting": drills["limiting"]})


def use(program: Program, world: World, picks: int, *kept: Candidate) -> None:
    """Let a day have so many picks, given on a move that was left out, and let moves be kept."""
    held = make_round(day=world.today())
    rounds = (*(held,) * (picks // 12), replace(held, answers=("1",) * (picks % 12)))
    spent = replace(SHELF, candidate="spent", rounds=rounds, decision="leave", verdict="leave")
    assert program.state.mix.sheet is not None
    sheet = replace(program.state.mix.sheet, candidates=(spent, *kept))
    world.projects.write(sheet)
    program.state = replace(program.state, mix=replace(program.state.mix, sheet=sheet))


def do(program: Program, world: World, what: str, value: str = "") -> None:
    """Press a button of the whole."""
    state = act_on_whole(program.state, intents.Do(what, value), world)
    assert state is not None
    program.state = state


def list_buttons(card: Card) -> list[Button]:
    """List the buttons of a card."""
    return [button for part in card.parts if isinstance(part, Choices) for button in part.buttons]


def list_items(card: Card) -> list[PlanItem]:
    """List what a card offers in rows."""
    return [item for part in card.parts if isinstance(part, Items) for item in part.items]


def open_kept(world: World, picks: int = 0, *results: object) -> Program:
    """Come to the delivery with three moves: preferred, unheard, not settled."""
    program = open_mix(world, *results)
    moves = (replace(SHELF, verdict="keep"), BELL, replace(TILT, verdict="not_settled"))
    use(program, world, picks, *(replace(each, decision="keep") for each in moves))
    program.act(intents.Do("step", "delivery"))
    return program


@pytest.mark.parametrize(("used", "main"), [(135, EVERYTHING), (136, "Another day")])
def test_the_whole_waits_for_another_day_where_it_does_not_fit(world: World, used: int, main: str) -> None:
    """Arithmetic: 175 picks a day hold 40 more after 135, and not after 136; it may be asked still."""
    program = open_kept(world, used, hear(2, 3))
    buttons = list_buttons(word_whole(program.state, world))
    assert [each.label for each in buttons if each.main] == [main]
    assert EVERYTHING in [each.label for each in buttons]
    # 39 picks at 12 s are 7.8 minutes.
    waits = "It takes up to 8 minutes; today has 7 left." in str(word_whole(program.state, world))
    assert waits == (main == "Another day")
    if waits:
        do(program, world, "later")
        assert program.state.mix.page == "projects" and "crane 4" in read(program)
        assert "all moves against the untouched mix" in program.state.message
        assert len(get_sheet(world).list_kept()) == 3 and not get_sheet(world).whole


def test_moves_are_left_out_in_turn_the_least_sure_first(world: World) -> None:
    """Unheard, not settled, preferred; 175 less 55 hold three comparisons of 40, of which the whole takes one."""
    program = open_kept(world, 55)
    card = word_whole(program.state, world)
    assert [item.intent for item in list_items(card)] == [
        intents.Do("whole", name) for name in ("bell_400", "tilt", "low_shelf_110")
    ]
    assert [item.note for item in list_items(card)] == ["", "", "another day"]
    # 12 and 40 picks at 12 s are 2.4 and 8 minutes.
    said = str(card)
    assert "The least sure first, 2 to 8 minutes each." in said
    assert "After the whole, today's minutes hold two of them; the last one is for another day." in said
    use(program, world, 100, *get_sheet(world).list_kept())
    assert "hold none of them" in str(word_whole(program.state, world))
    use(program, world, 0, *get_sheet(world).list_kept())
    assert "another day" not in str(word_whole(program.state, world))


def test_an_undecided_whole_is_gone_on_with_and_what_was_asked_comes_last(world: World) -> None:
    """By construction: six to six, so X comes next without rendering; a move that was left out goes to the end."""
    program = open_kept(world, 0, hear(2, 3), hear(2, 3, hashes=("hash 5", "hash 1")))
    program.act(intents.Do("whole", WHOLE))
    program.tick()
    answer_all(program, lambda held: "1")
    assert find_question(program.state, world) == WHOLE
    labels = {each.label: each.main for each in list_buttons(word_whole(program.state, world))}
    assert labels == {"Tell them apart, up to 16 times": True, "On small systems": False}
    do(program, world, "again")
    assert program.state.blind is not None and program.state.blind.held.kind == "apart"
    answer_all(program, lambda held: "2" if held.asked[len(held.answers)].right_answer == "1" else "1")
    assert find_question(program.state, world) == "" and "Not told" in str(word_whole(program.state, world))
    program.act(intents.Do("whole", "bell_400"))
    program.tick()
    answer_all(program, prefer(1))
    last = list_items(word_whole(program.state, world))[-1]
    assert last.intent == intents.Do("whole", "bell_400") and last.detail == "in the song: preferred with it"


@pytest.mark.parametrize(("used", "main"), [(124, "Compare every two, blind: 11 picks"), (125, "Another day")])
def test_a_loudness_that_does_not_fit_into_the_day_waits(world: World, used: int, main: str) -> None:
    """Arithmetic: 175 picks hold 11 of every two and 40 of those that lead after 124, and not after 125."""
    program = open_mix(world, hear(4, 2, loudness=Loudness(RUNGS), kind="rungs"))
    use(program, world, used)
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("step", "loudness"))
    program.act(intents.Do("try", "around"))
    program.tick()
    button, shown = find_main(program.view()), read(program)
    assert button is not None and button.label == main
    assert "label='Compare every two, blind: 11 picks'" in shown and "Choose −14.0 LUFS without listening" in shown
    # 51 and 50 picks at 12 s are 10.2 and 10 minutes.
    waits = "It takes up to 11 minutes; today has 10 left." in shown
    assert waits == (main == "Another day")
    if waits:
        program.act(button.intent)
        assert isinstance(world.player, FakePlayer) and not world.player.playing
        assert program.state.mix.page == "projects" and "how loud the song is to be" in program.state.message
        assert len(get_sheet(world).loudness.rungs) == 4


def test_the_calmer_of_two_that_were_not_told_apart_is_the_way_on(world: World) -> None:
    """By construction: the two that lead are even, and X is missed; of both the one that is driven less is offered."""
    program = open_mix(world, hear(2, 2, loudness=Loudness(RUNGS[1:3]), kind="rungs"))
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("step", "loudness"))
    program.act(intents.Do("try", "around"))
    program.tick()
    assert "label='Up to 12 picks between the two'" in read(program)
    program.act(intents.GoOn())
    answer_all(program, lambda held: "1")
    program.act(intents.GoOn())
    answer_all(program, lambda held: "2" if held.asked[len(held.answers)].right_answer == "1" else "1")
    button = find_main(program.view())
    assert button is not None and button.label == "−14.0 LUFS" and "is pushed less, −14.0 LUFS." in read(program)
    program.act(button.intent)
    assert get_sheet(world).loudness.chosen == 0


@pytest.mark.parametrize(
    ("own_lufs", "label"),
    [
        (-17.0, "Make four around −14 LUFS"),
        (-15.0, "Make three from −14 LUFS up"),
        (-13.0, "Make two from −12.5 LUFS up"),
        (-11.5, "Make four from −11 LUFS up"),
        (-5.6, "Make one, at −5.1 LUFS"),
    ],
)
def test_loudnesses_lie_over_the_song_with_its_moves(world: World, own_lufs: float, label: str) -> None:
    """By arithmetic: the mix at −17.0 LUFS, and a move that makes the song so much louder."""
    program = open_mix(world)
    change = {"loudness_change_lu": own_lufs + 17.0}
    use(program, world, 0, replace(SHELF, decision="keep", results=change))
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("step", "loudness"))
    shown = read(program)
    assert f"label='{label}'" in shown and "The mix as it is: −17.0 LUFS" in shown
    assert f"With the kept move: about {own_lufs:.1f} LUFS.".replace("-", "−") in shown


@pytest.mark.parametrize(("change_lu", "outdated"), [(0.0, False), (0.1, False), (0.4, True), (-1.0, True)])
def test_loudnesses_made_behind_other_moves_are_told_so(world: World, change_lu: float, outdated: bool) -> None:
    """By arithmetic: made 3.0 LU over a mix of −17.0 LUFS without a move; then one is kept that changes so much."""
    program = open_mix(world)
    use(program, world, 0, replace(SHELF, decision="keep", results={"loudness_change_lu": change_lu}))
    rung = Rung(-14.0, -14.0, 3.0, {"loudness_change_lu": 3.0})
    program.state = keep(program.state, replace(get_sheet(world), loudness=Loudness((rung,))), world)
    program.act(intents.Do("step", "loudness"))
    assert ("Other moves are kept than when these were made" in read(program)) == outdated


def test_one_loudness_says_what_is_done_with_it(world: World) -> None:
    """By construction: one rung, 2.0 LU over the song; nothing is asked blind, its cost is shown, it can be taken."""
    rung = Rung(-5.1, -5.1, 3.0, {"reduction_on_hits_db": 4.0, "loudness_change_lu": 2.0})
    program = open_mix(world, hear(1, 2, loudness=Loudness((rung,)), kind="rungs"))
    use(program, world, 0, replace(SHELF, decision="keep"))
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("step", "loudness"))
    assert "With the kept move: measured when a loudness is tried." in read(program)
    program.act(intents.Do("try", "around"))
    program.tick()
    shown, button = read(program), find_main(program.view())
    assert "With the kept move: −7.1 LUFS." in shown
    assert "no other to hear it against" in shown and "reduction on the loudest hits" in shown
    assert button is not None and button.label == "−5.1 LUFS" and "picks" not in shown
    program.act(button.intent)
    button = find_main(program.view())
    assert button is not None and button.label == "Next: delivery" and get_sheet(world).loudness.chosen == 0
