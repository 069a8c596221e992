"""The last step by intents: forms of all targets, versions, what is in the way, what was made, with stand-ins."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from tests.fakes import FakeWorker, MemoryProjects, make_world
from tests.session.test_mixes import MIX, OPENED, get_sheet, read
from trainer.decisions.mix_jobs import BounceChecked, CheckFile, Delivered, MakeBounce, PlacesTaken, SongHeard
from trainer.decisions.sheet import Bounced
from trainer.decisions.target import Target
from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.files.target_reading import list_targets
from trainer.session import intents
from trainer.session.enter import find_main
from trainer.session.mixes.moving import keep
from trainer.session.screens import Program
from trainer.session.world import World

INSTRUMENTAL = "/music/crane 4 instrumental.wav"


@dataclass
class ShippedTargets(MemoryProjects):
    """Keep sheets in memory, with the targets that ship."""

    def list_targets(self) -> dict[str, Target]:
        return list_targets(Path("nowhere"))


def make_file(form: str, title: str, verdict: str = "pass", said: str = "passes all 21 rules") -> BounceChecked:
    """Make what is known of a file."""
    path = f"/music/crane 4 master {form}.wav"
    bounced = Bounced(path, form[:2] * 32, 48000, 24, -14.0, -1.1, verdict)
    return BounceChecked(bounced, (f"Loudness of {form}.",), f"{form}, WAV", ((title, said),))


STREAM, DISC = make_file("48 kHz 24 bit", "Music streaming"), make_file("44.1 kHz 16 bit", "CD and download")
DELIVERED = Delivered((STREAM, DISC), ("Same gain, length and sync as the master.",), made=True)


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins."""
    return make_world({"limiting": drills["limiting"]}, projects=ShippedTargets())


def begin(world: World, *results: object, targets: tuple[str, ...] = ("streaming", "cd")) -> Program:
    """Open a mix that aims at a stream and a disc, at its last step."""
    assert isinstance(world.worker, FakeWorker)
    world.worker.results += [OPENED, *results]
    program = Program(world)
    program.act(intents.GoTo("mixes"))
    program.act(intents.DropFile(MIX.path))
    program.tick()
    for name in targets:
        program.act(intents.Do("target", name))
    program.act(intents.Do("step", "delivery"))
    return program


def get_job(world: World) -> MakeBounce:
    """Give the wish for files that was submitted last."""
    assert isinstance(world.worker, FakeWorker)
    job = world.worker.jobs[-1]
    assert isinstance(job, MakeBounce)
    return job


def test_the_page_tells_which_file_is_for_which_target(world: World) -> None:
    """IEC 60908 and the shipped targets: two files, or one where one form suits both; names and number are shown."""
    program = begin(world)
    shown = read(program)
    assert "('Music streaming', '48 kHz, 24 bit with dither, WAV')" in shown
    assert "('CD and download', '44.1 kHz, 16 bit with dither, WAV')" in shown
    assert "crane 4 master 48 kHz 24 bit.wav, crane 4 master 44.1 kHz 16 bit.wav" in shown and "Make 2 files" in shown
    program.act(intents.Do("depth", "16"))
    program.act(intents.Do("rate", "44100"))
    shown = read(program)
    assert "('Music streaming, CD and download', '44.1 kHz, 16 bit with dither, WAV')" in shown
    assert "crane 4 master.wav" in shown and "Make the file" in shown
    assert "No target is chosen" in read(begin(world, targets=("streaming", "cd")))


def test_all_are_made_in_one_go_and_told_file_by_file(world: World) -> None:
    """By construction: one wish; each file with its targets; all stand on the sheet; made again, they are its own."""
    program = begin(world, DELIVERED, DELIVERED)
    program.act(intents.GoOn())
    assert get_job(world).out == "/music/crane 4 master.wav" and get_job(world).own == ()
    program.tick()
    shown = read(program)
    for words in ("Made and checked", "('CD and download', 'passes all 21 rules')", "Loudness of 44.1 kHz 16 bit."):
        assert words in shown
    assert get_sheet(world).delivery.bounced == (STREAM.bounced, DISC.bounced)
    program.act(intents.Do("bounce"))
    assert get_job(world).own == (STREAM.bounced.sha256, DISC.bounced.sha256) and not get_job(world).force
    program.tick()
    assert len(get_sheet(world).delivery.bounced) == 2


def test_what_was_made_is_listened_to_before_the_end(world: World) -> None:
    """By construction: then comes what is undecided, then the end, until files are made anew."""
    song = SongHeard(np.zeros((1, 480, 2), np.float32), 48, (0.4,) * 20, 0.0, -20.0)
    program = begin(world, DELIVERED, song, DELIVERED)
    program.act(intents.GoOn())
    program.tick()
    assert name_main(program) == "A last listen, from start to end"
    program.act(intents.Do("last"))
    program.tick()
    program.act(intents.GoBack())
    assert name_main(program) == "Decide on what was found"
    decided = tuple(replace(each, decision="keep") for each in get_sheet(world).findings)
    program.state = keep(program.state, replace(get_sheet(world), findings=decided), world)
    assert name_main(program) == "Finish"
    program.act(intents.Do("bounce"))
    program.tick()
    assert name_main(program) == "A last listen, from start to end"


def name_main(program: Program) -> str:
    """Give the words of the main button."""
    main = find_main(program.view())
    return "" if main is None else main.label


def test_a_file_that_was_checked_is_not_one_that_was_made(world: World) -> None:
    """By construction: it would be asked about before it is written over."""
    program = begin(world, Delivered((STREAM,)))
    program.act(intents.Do("line", "2"))
    program.act(intents.GiveAnswer(STREAM.bounced.path))
    assert isinstance(world.worker, FakeWorker) and isinstance(world.worker.jobs[-1], CheckFile)
    program.tick()
    assert "Made and checked" not in read(program) and program.state.mix.made == ()


def test_versions_are_made_with_the_master(world: World) -> None:
    """By construction: named, dropped, left out again; the mix itself is none; with two, twice three files."""
    program = begin(world, DELIVERED)
    program.act(intents.Do("line", "1"))
    program.act(intents.TypeText(INSTRUMENTAL))
    program.act(intents.GoOn())
    program.act(intents.DropFile("/music/clean.wav"))
    assert "Make 6 files" in read(program) and "crane 4 instrumental.wav" in read(program)
    for path in (MIX.path, "/music/clean.wav"):
        program.act(intents.GiveAnswer(path))
        assert "each version once, and not the mix itself" in program.state.message
    program.act(intents.Do("version_out", "/music/clean.wav"))
    program.act(intents.Do("bounce"))
    assert get_job(world).versions == (INSTRUMENTAL,)
    program.tick()
    assert "Same gain, length and sync as the master." in read(program)


def test_what_is_there_is_asked_about(world: World) -> None:
    """By construction: kept, as Enter does, nothing is asked of the desk; written over, the wish is made by force."""
    wish = MakeBounce(OPENED.mix, "/music/crane 4 master.wav")  # type: ignore[arg-type]
    program = begin(world, PlacesTaken(wish, (DISC.bounced.path,)), PlacesTaken(wish, (DISC.bounced.path,)))
    for answer, jobs in ((intents.GoOn(), 0), (intents.Do("replace"), 1)):
        program.act(intents.GoOn())
        program.tick()
        assert "Already there" in read(program) and "crane 4 master 44.1 kHz 16 bit.wav" in read(program)
        assert isinstance(world.worker, FakeWorker)
        before = len(world.worker.jobs)
        program.act(answer)
        assert len(world.worker.jobs) == before + jobs and "Already there" not in read(program)
    assert get_job(world).force


def test_work_that_fails_or_is_given_up_loses_nothing(world: World) -> None:
    """By construction: one line on the page; versions and form stay as they were."""
    program = begin(world, DELIVERED)
    program.act(intents.Do("line", "1"))
    program.act(intents.GiveAnswer(INSTRUMENTAL))
    assert isinstance(world.worker, FakeWorker)
    world.worker.failure = str(BadValue("other.wav", "duration_s", "9.000", "5.000, as the mix has"))
    program.act(intents.Do("bounce"))
    program.tick()
    assert program.state.message == world.worker.failure and program.state.mix.versions == (INSTRUMENTAL,)
    world.worker.failure, world.worker.held_back = "", True
    program.act(intents.Do("bounce"))
    program.tick()
    program.act(intents.GoBack())
    assert world.worker.cancelled == 2 and program.state.mix.page == "step" and "Make 4 files" in read(program)
    assert get_sheet(world).delivery.bounced == ()
