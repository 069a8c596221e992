"""A slip of the finger in a blind round is mended once, and the notebook says so."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

import pytest

from tests.fakes import FakeWorker, MemoryNotebook, make_world
from tests.session.test_weigh import hold, make_beam, open_beam
from tests.text.typing import lead
from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.files.notebook import NAME, RoundFile
from trainer.session import intents
from trainer.session.screens import Program
from trainer.session.view import TrialView
from trainer.session.world import World
from trainer.text.drill import Terminal
from trainer.text.pages import TextProgram


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world whose worker puts two bounces on the beam."""
    return make_world(drills, worker=FakeWorker([make_beam() for _ in range(3)]))


def begin(world: World, kind: str = "prefer") -> Program:
    """Begin a round."""
    program = open_beam(world)
    program.act(intents.Do("round", kind))
    return program


def offers(program: Program) -> bool:
    """Tell whether Backspace takes back now."""
    shown = program.view()
    assert isinstance(shown, TrialView)
    return ("backspace", intents.TakeBack()) in [binding for key in shown.frame.keys for binding in key.bindings]


@pytest.mark.parametrize("kind", ["prefer", "apart"])
def test_the_last_pick_is_asked_again_as_the_same_question(kind: str, world: World) -> None:
    """The same sounds under the same numbers on the same stretch; what is answered then counts."""
    program = begin(world, kind)
    assert not offers(program)
    for answer in ("1", "2", "1"):
        program.act(intents.GiveAnswer(answer))
    asked = hold(program).asked
    program.act(intents.TakeBack())
    blind = program.state.blind
    assert blind is not None and blind.asked == asked[2] and hold(program).answers == ("1", "2")
    assert hold(program).asked == asked and "taken back" in program.state.message
    assert not offers(program)
    program.act(intents.GiveAnswer("2"))
    assert hold(program).answers == ("1", "2", "2") and hold(program).taken_back == ((2, "1"),)


def test_one_step_only_and_only_until_the_next_pick(world: World) -> None:
    """A second one does nothing; after another pick that one can be taken back."""
    program = begin(world)
    for answer in ("1", "2"):
        program.act(intents.GiveAnswer(answer))
    program.act(intents.TakeBack())
    before = program.state
    program.act(intents.TakeBack())
    assert hold(program).answers == ("1",) and replace(before, message="") == program.state
    program.act(intents.GiveAnswer("1"))
    assert offers(program)
    program.act(intents.TakeBack())
    assert hold(program).taken_back == ((1, "2"), (1, "1"))


def test_a_pick_that_a_gap_spoilt_leaves_the_one_before_to_be_mended(world: World) -> None:
    """It was not kept, so the last one that was is still the last."""
    program = begin(world)
    program.act(intents.GiveAnswer("1"))
    blind = program.state.blind
    assert blind is not None
    program.state = replace(program.state, blind=replace(blind, gaps=1))
    program.act(intents.GiveAnswer("2"))
    assert hold(program).answers == ("1",) and offers(program)


def test_another_stretch_is_gone_back_from(world: World) -> None:
    """The first pick of the second stretch is open; taken back, the last one of the first is heard on its own."""
    program = begin(world)
    held = hold(program)
    place = next(n for n, asked in enumerate(held.asked) if asked.stretch == 1)
    for n in range(place):
        program.act(intents.GiveAnswer(str(1 + n % 2)))
    assert program.state.blind is not None and program.state.blind.stretch == 1
    program.act(intents.TakeBack())
    assert program.state.blind is not None and program.state.blind.stretch == 0


def test_what_was_left_is_gone_on_with_but_not_taken_back(world: World) -> None:
    """The round begun anew is the same one, mended as it was."""
    program = begin(world)
    for answer in ("1", "2"):
        program.act(intents.GiveAnswer(answer))
    program.act(intents.TakeBack())
    held = hold(program)
    program.act(intents.GoBack())
    program.act(intents.Do("round", "prefer"))
    assert hold(program) == held and not offers(program)


def test_a_complete_round_stands(world: World) -> None:
    """Its verdict has been shown."""
    program = begin(world)
    while isinstance(program.view(), TrialView):
        program.act(intents.GiveAnswer("1"))
    judged = program.state.weigh.judged
    program.act(intents.TakeBack())
    assert judged is not None and program.state.weigh.judged == judged and judged.complete
    with pytest.raises(BadValue, match="open round"):
        judged.before_last()


def test_a_scored_answer_stands(world: World) -> None:
    """In a drill the answer is shown at once."""
    program = Program(world)
    program.act(intents.StartDrill("high_shelf_8k"))
    program.tick()
    program.act(intents.GoOn())
    program.tick()
    program.act(intents.GiveAnswer("1"))
    before = len(world.store.list_trials())
    program.act(intents.TakeBack())
    assert len(world.store.list_trials()) == before == 1 and program.state.run is not None
    assert len(program.state.run.outcomes) == 1


def test_the_notebook_keeps_what_was_so(drills: dict[str, Drill], tmp_path: Path) -> None:
    """Each line is a state that was: the pick, the pick taken back with what it was, the one in its place.

    Nothing that stood is written over, and what is read again is the round as it stands.
    """
    book = RoundFile(tmp_path)
    world = make_world(drills, worker=FakeWorker([make_beam()]), notebook=book)
    program = begin(world)
    for intent in (intents.GiveAnswer("1"), intents.GiveAnswer("2"), intents.TakeBack(), intents.GiveAnswer("1")):
        program.act(intent)
    lines = [json.loads(line) for line in (tmp_path / NAME).read_text(encoding="utf-8").splitlines()]
    assert [(line["answers"], line["taken_back"]) for line in lines] == [
        (["1"], []),
        (["1", "2"], []),
        (["1"], [[1, "2"]]),
        (["1", "1"], [[1, "2"]]),
    ]
    assert RoundFile(tmp_path).list_rounds() == (hold(program),)


def test_a_notebook_of_before_is_read(tmp_path: Path, world: World) -> None:
    """Rounds that were kept without the record of what was taken back."""
    program = begin(world)
    program.act(intents.GiveAnswer("1"))
    book = RoundFile(tmp_path)
    book.keep_round(hold(program))
    line = json.loads((tmp_path / NAME).read_text(encoding="utf-8"))
    del line["taken_back"]
    (tmp_path / NAME).write_text(json.dumps(line) + "\n", encoding="utf-8")
    assert book.list_rounds() == (hold(program),)


@pytest.mark.parametrize("taken", [((12, "1"),), ((-1, "1"),), ((0, "3"),)])
def test_a_record_that_cannot_be_is_refused(taken: tuple[tuple[int, str], ...], world: World) -> None:
    """A question that the round does not have, or an answer that there is not."""
    held = hold(begin(world))
    with pytest.raises(BadValue, match="taken_back"):
        replace(held, taken_back=taken)


def test_the_same_word_in_a_terminal(world: World) -> None:
    """`take back` asks again; where it has no place it is one line that says where."""
    said = lead(open_beam(world), ["[Begin: up to 12 picks]", "=1", "=2", "take back", "=2", "=1"])
    assert said.count("2 of 12.") == 2 and said.count("Kept.") == 4
    assert isinstance(world.notebook, MemoryNotebook)
    (held,) = world.notebook.list_rounds()
    assert held.answers == ("1", "2", "1") and held.taken_back == ((1, "2"),)


def test_the_word_out_of_place_and_its_event(world: World) -> None:
    """Before the first pick and twice it is refused; as an object it is an event of its own."""
    out, errors = io.StringIO(), io.StringIO()
    lines = iter(["take back\n", "=1\n", "take  Back\n", "take back\n", "=1\n", "q\n"])
    TextProgram(begin(world), Terminal(lines, out, errors, True)).play()
    assert len(errors.getvalue().splitlines()) == 2 and "right after a pick" in errors.getvalue()
    events = [json.loads(line) for line in out.getvalue().splitlines()]
    assert [each["event"] for each in events if each["event"] != "page"] == [
        "question", "answer", "question", "taken_back", "question", "answer", "question", "stop",
    ]  # fmt: skip
