"""The drill in a terminal, from a person or a pipe."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator, Sequence

import pytest

from tests.fakes import FakePlayer, FakeWorkshop, MemoryStore, make_world
from trainer.exercise.drill import Drill
from trainer.ports import UNCHANGED
from trainer.session.run import begin_run
from trainer.session.world import World
from trainer.text.drill import Interrupted, Terminal, TextRun
from trainer.text.lines import read_line


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins whose right answer is 2."""
    return make_world(drills, workshop=FakeWorkshop(right=2))


def play(world: World, lines: Sequence[str], as_json: bool = False, trials: int = 3, examples: int = 0) -> list[str]:
    """Play a run on typed lines; gives what was written, complaints marked."""
    out, errors = io.StringIO(), io.StringIO()
    run = begin_run(world.find_standing("high_shelf_8k"), 7, trials, examples)
    TextRun(run, world, Terminal(iter(lines), out, errors, as_json)).play()
    return out.getvalue().splitlines() + [f"! {line}" for line in errors.getvalue().splitlines()]


def test_a_run_from_a_pipe(world: World) -> None:
    """Questions, answers, what was so, and that it is kept."""
    said = play(world, ["\n", "2\n", "=2\n", "=1\n", "=2\n", "=3\n"])
    assert sum(line.startswith("Trial ") for line in said) == 3
    assert any(line.startswith("Yes. It was 2.") and line.endswith("Kept.") for line in said)
    assert any(line.startswith("No. It was 2. You said 1.") for line in said)
    assert [trial.correct for trial in world.store.list_trials()] == [True, False, True]


def test_the_end_of_the_input_is_a_clean_stop(world: World) -> None:
    """What was answered is kept; so is it with q."""
    assert "Stopped after 1 of 3 trials; all of them are kept." in play(world, ["=2\n"])
    assert "Stopped after 1 of 3 trials; all of them are kept." in play(world, ["=2\n", "q\n", "=2\n"])
    assert len(world.store.list_trials()) == 2


@pytest.mark.parametrize("line", ["=4", "=", "=two", "9", "play", "d", "r"])
def test_what_cannot_be_done_is_one_line_and_loses_nothing(world: World, line: str) -> None:
    """The question stays open."""
    said = play(world, [f"{line}\n", "=2\n"])
    complaints = [text for text in said if text.startswith("! ")]
    assert len(complaints) == 1 and ": " in complaints[0] and "expected" in complaints[0]
    assert len(world.store.list_trials()) == 1


def test_versions_and_the_difference_are_played(world: World) -> None:
    """A number plays the open trial; d, after an answer, only what changed in the one before."""
    player = world.player
    assert isinstance(player, FakePlayer)
    said = play(world, ["3\n", "=2\n", "d\n"])
    assert "Playing 3." in said
    assert any(line.startswith("Playing only what changed in trial 1. What changed lies 23 dB below") for line in said)
    assert player.selected == 3


def test_the_receipt_is_read_out(world: World) -> None:
    """Asked and measured, line by line."""
    said = play(world, ["=2\n", "r\n"])
    assert any(line.startswith("gain of the plateau: asked +") and "measured +" in line for line in said)


def test_json_is_one_object_a_line_and_hides_the_answer(world: World) -> None:
    """Events question, answer, stop; the right answer in the answer's event only."""
    events = [json.loads(line) for line in play(world, ["=2\n", "=1\n"], as_json=True)]
    assert [event["event"] for event in events] == ["question", "answer", "question", "answer", "question", "stop"]
    for event in events:
        assert ("right_answer" in event) == (event["event"] == "answer")
        if event["event"] != "stop":
            assert {"trial", "index", "question", "answers", "amount"} <= set(event)
    answers = [event for event in events if event["event"] == "answer"]
    assert [event["correct"] for event in answers] == [True, False] and all(event["kept"] for event in answers)
    assert [event["trial"] for event in answers] == [t.trial for t in world.store.list_trials()]


def test_a_labelled_example_takes_no_answer(world: World) -> None:
    """`=` goes on to the questions; nothing is scored."""
    said = play(world, ["2\n", "=\n", "=2\n"], examples=1)
    assert any(line.startswith("1 as it is, 2 with it.") for line in said)
    assert isinstance(world.store, MemoryStore) and len(world.store.trials) == 1


@pytest.mark.parametrize(
    ("text", "kind"),
    [("  ", "nothing"), ("2", "listen"), ("= 2 ", "answer"), ("D", "change"), ("?", "help"), ("q", "stop"),
     ("²", "unknown"), ("-1", "unknown"), ("Difference", "change"), ("receipt", "receipt"), ("pause", "pause"),
     ("stop", "stop"), ("help", "help"), ("tones", "tones"), ("next", "next"), ("back", "back"), ("End", "end")],
)  # fmt: skip
def test_lines(text: str, kind: str) -> None:
    """What a line means."""
    assert read_line(text).kind == kind


def test_aids_to_hearing_work_on_examples_and_on_what_changed_only(world: World) -> None:
    """Off again with every load; a question refuses them in one line."""
    player = world.player
    assert isinstance(player, FakePlayer)
    said = play(world, ["mono\n", "quiet\n", "=\n", "mono\n", "=2\n", "d\n", "Sides\n", "3\n", "sides\n"], examples=1)
    assert "Heard now: Mono. The same word again: as it is." in said
    assert "Heard now: Mono · Quiet, −20 dB. The same words again: as it is." in said
    assert "Heard now: Sides only. The same word again: as it is." in said
    assert len([line for line in said if line.startswith("! ") and "a question is heard as it is" in line]) == 2
    assert player.how == UNCHANGED


@pytest.mark.parametrize(("choice", "count"), [("one", [1, 1]), ("telling", [2, 2]), ("none", [])])
def test_a_tone_after_each_answer(choice: str, count: list[int], world: World) -> None:
    """As in the window; chosen in Setup."""
    world.store.write_setting("answer_tones", choice)
    play(world, ["=2\n", "=1\n"])
    assert isinstance(world.player, FakePlayer)
    assert [len(notes) for notes in world.player.notes] == count


def test_a_scored_answer_is_not_taken_back(world: World) -> None:
    """It has been shown."""
    said = play(world, ["=1\n", "take back\n"])
    assert any(line.startswith("! ") and "every answer stands" in line for line in said)
    assert len(world.store.list_trials()) == 1


def test_what_sounds_after_answers_is_chosen_in_words(world: World) -> None:
    """The words of Setup; kept from then on."""
    said = play(world, ["=2\n", "A tone\n", "=2\n", "tones  that tell\n", "=2\n"])
    assert "A tone after each answer, from now on." in said
    assert isinstance(world.player, FakePlayer)
    assert [len(notes) for notes in world.player.notes] == [1, 2]
    assert world.store.read_setting("answer_tones", "") == "telling"


def test_what_was_expected_names_the_aids_where_they_work(world: World) -> None:
    """On an example they work, on a question they do not; the tones are named by their words."""
    said = play(world, ["foo\n", "=\n", "foo\n", "tones\n"], examples=1)
    example, question, tones = [line for line in said if line.startswith("! ")]
    assert "mono, sides, swapped, quiet" in example and "mono" not in question
    assert tones.endswith("expected no tone, a tone, or tones that tell")


def test_an_interrupt_ends_as_q_does(world: World) -> None:
    """The closing lines are said, and what was answered is kept."""

    def type_lines() -> Iterator[str]:
        yield "=2\n"
        raise KeyboardInterrupt

    out = io.StringIO()
    run = begin_run(world.find_standing("high_shelf_8k"), 7, 3, 0)
    with pytest.raises(Interrupted):
        TextRun(run, world, Terminal(type_lines(), out, io.StringIO(), False)).play()
    assert "Stopped after 1 of 3 trials; all of them are kept." in out.getvalue()
    assert len(world.store.list_trials()) == 1


def test_after_much_guessing_at_the_largest_amount_an_end_is_offered(world: World, drills: dict[str, Drill]) -> None:
    """By construction: refused before; offered once 8 misses stand at the largest amount; a word ends it there."""
    high = drills["high_shelf_8k"].amount.high
    lines = ["=2\n", "end\n", *["=1\n"] * 23, "end\n", "=1\n"]
    said = play(world, lines, trials=60)
    trials = world.store.list_trials()
    assert [line for line in said if line.startswith("! ")] == [
        "! input: line=end, expected much guessing at the largest amount first; q stops at any time"
    ]
    offers = [n for n, line in enumerate(said) if line.endswith("Type end to end here, or go on.")]
    assert offers and "0 of the last 8 right" in said[offers[0]]
    answered = sum(line.startswith(("Yes.", "No.")) for line in said[: offers[0]])
    largest = [trial.amount >= 0.99 * high for trial in trials]
    assert sum(largest[:answered]) == 8 and largest[answered - 1], "not sooner, and not later"
    assert f"Ended after {len(trials)} of 60 trials; all of them are kept." in said and len(trials) < 60
    assert f"Not told apart at {high:g} dB." in said


def test_a_run_that_ends_early_is_not_complete(world: World) -> None:
    """By construction: the last object says how many were answered, and that some were not."""
    events = [json.loads(line) for line in play(world, [*["=1\n"] * 30, "end\n"], as_json=True, trials=60)]
    assert events[-1] == {"event": "stop", "answered": 30, "complete": False}
