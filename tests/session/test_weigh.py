"""A weighing from the files to the verdict, by intents, with a world of stand-ins."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from tests.fakes import FakeClock, FakeFiles, FakePlayer, FakeWorker, MemoryNotebook, make_world
from trainer.decisions.beam import BeamJob, CopiesJob, OnBeam
from trainer.decisions.bounces import Stretch
from trainer.decisions.rounds import Round
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.pages import Entry, PageView
from trainer.session.screens import Program
from trainer.session.view import TrialView
from trainer.session.world import World

NAMES = ("b.wav", "a.wav", "c.wav")
HASHES = ("cc", "aa", "bb")


def make_beam(count: int = 2) -> OnBeam:
    """Put bounces of noise on the beam, as the desk gives them; two stretches."""
    rng = np.random.default_rng(4)
    sounds = tuple(rng.normal(0, 0.05, (count, 480, 2)).astype(np.float32) for _ in range(2))
    files = [
        {"file": f"/music/{name}", "integrated_lufs": -14.0, "true_peak_dbtp": -1.0, "sentences": ["In step."]}
        for name in NAMES[:count]
    ]
    pairs = [(a, b) for a in range(count) for b in range(a + 1, count)]
    differences = [
        {"a": f"/music/{NAMES[a]}", "b": f"/music/{NAMES[b]}", "sentences": ["What differs lies 20 dB under the song."]}
        for a, b in pairs
    ]
    stretches = (Stretch(61.0, 69.0), Stretch(10.0, 18.0))
    return OnBeam(
        NAMES[:count],
        HASHES[:count],
        48000,
        stretches,
        sounds,
        -20.0,
        0.002,
        ((0.5,) * 200, (0.2,) * 200),
        {"loudest": stretches[0], "quiet": stretches[1]},
        200.0,
        {"files": files, "differences": differences},
        ("d.wav: correlation=0.02, expected 0.20 or more",),
    )


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world whose worker puts two bounces on the beam."""
    return make_world({"limiting": drills["limiting"]}, worker=FakeWorker([make_beam() for _ in range(4)]))


def open_beam(world: World, count: int = 2) -> Program:
    """Name the files and wait until they are on the beam."""
    program = Program(world)
    program.act(intents.GoTo("weigh"))
    for name in NAMES[:count]:
        program.act(intents.DropFile(f"/music/{name}"))
    program.act(intents.GoOn())
    program.tick()
    return program


def read(program: Program) -> str:
    """Give all words of the page."""
    view = program.view()
    assert isinstance(view, PageView)
    return f"{view.headline} {view.sentence} {view.list_parts()} {view.columns}"


def hold(program: Program) -> Round:
    """Give the round that is on."""
    assert program.state.blind is not None
    return program.state.blind.held


def answer_all(program: Program, choose: Callable[[Round], str]) -> None:
    """Answer a round to its end; `choose` tells the number for a question."""
    while program.state.screen == "blind":
        program.act(intents.GiveAnswer(choose(hold(program))))


def prefer(version: int) -> Callable[[Round], str]:
    """Prefer one version wherever it is."""
    return lambda held: str(held.asked[len(held.answers)].sounds.index(version) + 1)


def test_files_are_typed_completed_and_taken_away(drills: dict[str, Drill]) -> None:
    """A path is completed as far as there is one way; each file is named once."""
    files = FakeFiles(("/music/mix 3.wav", "/music/mix 4.wav"))
    program = Program(make_world({"limiting": drills["limiting"]}, files=files))
    program.act(intents.GoTo("weigh"))
    program.act(intents.TypeText("/music/m"))
    program.act(intents.CompleteText())
    assert program.state.typed == "/music/mix "
    view = program.view()
    assert isinstance(view, PageView) and isinstance(view.entry, Entry)
    assert [button.label for button in view.entry.offers] == ["mix 3.wav", "mix 4.wav"]
    program.act(view.entry.offers[0].intent)
    program.act(intents.GoOn())
    assert program.state.weigh.files == ("/music/mix 3.wav",) and not program.state.typed
    program.act(intents.GiveAnswer("/music/mix 3.wav"))
    assert "each file once" in program.state.message and len(program.state.weigh.files) == 1
    program.act(intents.GoOn())
    assert "files=1, expected 2 to 8" in program.state.message
    program.act(intents.Do("remove", "/music/mix 3.wav"))
    assert not program.state.weigh.files


def test_work_shows_how_far_it_is_and_can_be_cancelled(world: World) -> None:
    """Cancelling goes back to the files, which are kept."""
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    worker.held_back = True
    program = open_beam(world)
    view = program.view()
    assert isinstance(view, PageView) and view.busy and "fraction=0.4" in read(program)
    program.act(intents.GoBack())
    assert worker.cancelled == 1 and program.state.weigh.page == "files" and len(program.state.weigh.files) == 2


def test_what_cannot_be_done_is_one_line_and_loses_nothing(world: World) -> None:
    """The files stay named."""
    program = open_beam(replace(world, worker=FakeWorker(failure="b.wav: correlation=0.01, expected 0.20 or more\nx")))
    assert program.state.message == "b.wav: correlation=0.01, expected 0.20 or more"
    assert program.state.weigh.page == "files" and len(program.state.weigh.files) == 2


def test_a_favourite_is_named_only_at_the_end(world: World) -> None:
    """Twelve picks of one and the same: 12 of 12, and a page that names it; before that no name is shown."""
    program = open_beam(world)
    assert "d.wav: correlation" in read(program)
    program.act(intents.GoOn())
    player, beam = world.player, program.state.weigh.beam
    assert isinstance(player, FakePlayer) and beam is not None
    seen = 0
    while program.state.screen == "blind":
        view, held = program.view(), hold(program)
        assert isinstance(view, TrialView)
        assert not any(name in f"{view.question}{view.versions}{view.answers}{view.frame.title}" for name in NAMES)
        sounds = held.asked[len(held.answers)].sounds
        # Rounds are kept in the order of the hashes, and the beam in the order of the files.
        program.act(intents.Listen(2))
        stretch = held.asked[len(held.answers)].stretch
        assert player.sounds is not None
        expected = beam.sounds[stretch][HASHES.index(held.versions[sounds[1]])]
        assert np.array_equal(player.sounds[player.selected], expected)
        program.act(intents.GiveAnswer(str(sounds.index(0) + 1)))
        seen += 1
    assert seen == 12 and player.loaded[:2] == [2, 2]
    assert "A favourite: a.wav." in read(program) and "12" in read(program)
    notebook = world.notebook
    assert isinstance(notebook, MemoryNotebook) and len(notebook.rounds) == 1
    assert "Ask again on another day" in read(program)


def test_undecided_picks_lead_to_telling_apart_and_then_to_the_last_twelve(world: World) -> None:
    """The order of a sitting; the second round is the last one today."""
    program = open_beam(world)
    program.act(intents.GoOn())
    answer_all(program, lambda held: "1")
    assert "No clear favourite." in read(program)
    program.act(intents.GoOn())
    held = hold(program)
    assert held.kind == "apart"
    view = program.view()
    assert isinstance(view, TrialView) and [button.label for button in view.versions] == ["1", "2", "X"]
    answer_all(program, lambda held: held.asked[len(held.answers)].right_answer)
    assert "Told apart." in read(program)
    assert isinstance(world.clock, FakeClock)
    world.clock.pass_time(200)
    program.act(intents.GoOn())
    answer_all(program, lambda held: "1")
    assert "Two rounds did not settle it" in read(program)
    program.act(intents.GoOn())
    assert program.state.weigh.page == "beam"


def test_who_cannot_tell_them_apart_is_asked_no_more_today(world: World) -> None:
    """Always wrong: after five of sixteen, twelve cannot be reached any more."""
    program = open_beam(world)
    program.act(intents.GoOn())
    answer_all(program, lambda held: "1")
    program.act(intents.GoOn())
    answer_all(program, lambda held: "2" if held.asked[len(held.answers)].right_answer == "1" else "1")
    assert "Not told apart." in read(program) and "0 of 5" in read(program)
    program.act(intents.GoOn())
    assert program.state.weigh.page == "beam" and "You did not tell them apart" in read(program)
    clock = world.clock
    assert isinstance(clock, FakeClock)
    clock.pass_time(86_400)
    assert "Begin: up to 12 picks" in read(program)


def test_a_round_that_was_left_is_gone_on_with(world: World) -> None:
    """Esc loses no answer; the same questions come again in the same order."""
    program = open_beam(world)
    program.act(intents.GoOn())
    for _ in range(5):
        program.act(intents.GiveAnswer("2"))
    begun = hold(program)
    program.act(intents.GoBack())
    again = Program(world)
    again.act(intents.GoTo("weigh"))
    for name in reversed(NAMES[:2]):
        again.act(intents.DropFile(f"/music/{name}"))
    again.act(intents.GoOn())
    again.tick()
    again.act(intents.GoOn())
    assert hold(again) == begun and len(begun.answers) == 5


def test_a_pick_with_gaps_in_the_sound_is_asked_again(world: World) -> None:
    """It is not kept."""
    program = open_beam(world)
    program.act(intents.GoOn())
    player, clock = world.player, world.clock
    assert isinstance(player, FakePlayer) and isinstance(clock, FakeClock)
    clock.pass_time(3)
    player.gaps = 1
    program.tick()
    program.act(intents.GiveAnswer("1"))
    held = hold(program)
    assert not held.answers and "asked again" in program.state.message
    assert isinstance(world.notebook, MemoryNotebook) and not world.notebook.rounds


def test_listening_with_names_is_kept_as_sighted(world: World) -> None:
    """And said with the verdict of a round that comes after it; the difference can be heard by itself."""
    program = open_beam(world)
    program.act(intents.Do("names"))
    player, clock = world.player, world.clock
    assert isinstance(player, FakePlayer) and isinstance(clock, FakeClock)
    assert player.loaded[-1] == 3
    program.act(intents.OnlyWhatChanged())
    assert player.selected == 2
    program.act(intents.GoBack())
    clock.pass_time(60)
    program.act(intents.GoOn())
    answer_all(program, prefer(1))
    assert "with their names shown" in read(program)


def test_three_bounces_are_put_in_order_first(drills: dict[str, Drill]) -> None:
    """Three pairs and five hidden repeats, then twelve picks between the two that lead."""
    world = make_world({"limiting": drills["limiting"]}, worker=FakeWorker([make_beam(3)]))
    program = open_beam(world, 3)
    program.act(intents.GoOn())
    held = hold(program)
    assert held.kind == "all" and len(held.asked) == 8

    def choose(held: Round) -> str:
        """Rank them by their order."""
        left, right = held.asked[len(held.answers)].sounds
        return "1" if left < right else "2"

    answer_all(program, choose)
    assert "lead." in read(program) and "8 picks" in read(program)
    program.act(intents.GoOn())
    held = hold(program)
    assert held.kind == "prefer" and set(held.pair) == {0, 1}


def test_another_stretch_and_copies_are_jobs(world: World) -> None:
    """A place is typed as minutes and seconds; copies go to a folder beside the first file."""
    program = open_beam(world)
    program.act(intents.TypeText("1:05"))
    program.act(intents.GoOn())
    worker = world.worker
    assert isinstance(worker, FakeWorker) and worker.jobs[-1] == BeamJob(("/music/b.wav", "/music/a.wav"), 65.0, None)
    program.tick()
    program.act(intents.Do("stretch", "quiet"))
    assert worker.jobs[-1] == BeamJob(("/music/b.wav", "/music/a.wav"), 10.0, 8.0)
    program.tick()
    program.act(intents.GiveAnswer("soon"))
    assert "a place in s" in program.state.message
    program.act(intents.Do("copies"))
    job = worker.jobs[-1]
    assert isinstance(job, CopiesJob) and job.folder == "/music/b matched"


def test_of_five_the_four_that_lead_meet_once_more(drills: dict[str, Drill]) -> None:
    """Ten pairs and five hidden repeats, six picks between four, and then the two that lead."""
    names, hashes = tuple(f"{n}.wav" for n in "abcde"), tuple(f"h{n}" for n in range(5))
    beam = make_beam(2)
    sounds = tuple(np.zeros((5, 480, 2), np.float32) for _ in range(2))
    files = [{**beam.facts["files"][0], "file": name} for name in names]
    many = replace(beam, names=names, hashes=hashes, sounds=sounds, facts={"files": files, "differences": []})
    world = make_world({"limiting": drills["limiting"]}, worker=FakeWorker([many]))
    program = open_beam(world)

    def choose(held: Round) -> str:
        """Rank them by their order."""
        left, right = held.asked[len(held.answers)].sounds
        return "1" if left < right else "2"

    counts = []
    for _ in range(3):
        program.act(intents.GoOn())
        counts.append((hold(program).kind, len(hold(program).asked), hold(program).among))
        answer_all(program, choose)
    assert counts == [("all", 15, ()), ("leaders", 6, (0, 1, 2, 3)), ("prefer", 12, ())]
    assert "A favourite: a.wav." in read(program)
