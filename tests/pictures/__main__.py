"""Make the README's pictures: ``python -m tests.pictures``. Answers come from a simulated listener."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

import numpy as np
import pygame

from tests.fakes import FakeClock, FakePlayer, MemoryStore, make_world
from tests.ui.canvas import draw
from trainer.app.conditions import Conditions
from trainer.app.work import make_work
from trainer.decisions.beam import BeamJob
from trainer.dsp.song_chain import Step, render_song
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.files.library import list_demo_songs, list_drills
from trainer.files.paths import Paths
from trainer.files.sound_reading import read_song
from trainer.files.sound_writing import write_float_wav
from trainer.listening.listener import Listener
from trainer.ports import Playhead
from trainer.session import intents
from trainer.session.program import Opening
from trainer.session.screens import Program
from trainer.session.view import DemonstrationView
from trainer.session.world import World
from trainer.workshop.bench import Bench
from trainer.workshop.desk import InlineWorker
from trainer.workshop.inline import InlineWorkshop

FOLDER = Path(__file__).parent
SIZE = (1280, 800)
LISTENERS = {"high_shelf_8k": Listener(threshold=1.3), "limiting": Listener(threshold=3.5)}


class PicturePlayer(FakePlayer):
    """A player that always stands at the same place of the loop."""

    def position(self) -> Playhead:
        return Playhead(160_000, self.selected, self.playing)


def main() -> None:
    """Play two runs and draw what the window shows on the way."""
    pygame.display.init()
    pygame.font.init()
    drills = list_drills(FOLDER / "none")
    workshop = InlineWorkshop(Bench(list_demo_songs(), read_song))
    store, clock = MemoryStore(settings={"cautions_seen": "yes"}), FakeClock()
    seeds = iter(range(5, 50))
    world = make_world(
        drills,
        workshop=workshop,
        player=PicturePlayer(),
        store=store,
        clock=clock,
        choose_seed=lambda: next(seeds),
    )
    rng = np.random.default_rng(4)
    play(world, "limiting", rng, stop_at=9, picture="limiter")
    clock.time += timedelta(days=1)
    program = play(world, "high_shelf_8k", rng, stop_at=7, picture="answer", also=True)
    answer(program, world, "high_shelf_8k", rng, left=23)
    save(program, "end")
    program.act(intents.GoOn())
    clock.time += timedelta(days=2)
    save(Program(world), "today")
    with TemporaryDirectory() as folder:
        picture_verdict(drills, Path(folder))
        picture_move(drills, Path(folder))


def picture_verdict(drills: dict[str, Drill], folder: Path) -> None:
    """Weigh two bounces of a demo song to a verdict."""
    song = read_song(list_demo_songs()[0]).clip
    shelf = Step("high_shelf", {"corner_hz": 8000.0, "gain_db": 1.5})
    paths = (folder / "master A.wav", folder / "master B.wav")
    for path, steps in zip(paths, ((), (shelf,)), strict=True):
        made = render_song(song, steps)
        write_float_wav(path, made.samples, made.rate_hz)
    program = Program(make_own_world(drills), Opening(bounces=BeamJob(tuple(map(str, paths)))))
    program.tick()
    program.act(intents.GoOn())
    pick(program, 1, (5, 11))
    save(program, "weigh")


def picture_move(drills: dict[str, Drill], folder: Path) -> None:
    """Weigh one move on a demo song, beside another one of them."""
    songs = list_demo_songs()
    mix = folder / "Quarter Past the Breakwater.wav"
    song = read_song(songs[0]).clip
    dull = render_song(song, (Step("high_shelf", {"corner_hz": 6000.0, "gain_db": -2.5}),))
    write_float_wav(mix, dull.samples, dull.rate_hz)
    references = tuple(songs[place].path for place in (1, 2, 4))
    program = Program(make_own_world(drills), Opening(mix=str(mix), references=references))
    program.tick()
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("finish"))
    program.act(intents.Do("finish"))
    program.act(intents.Do("compare"))
    program.tick()
    compared = program.state.mix.compared
    assert compared is not None and compared.candidates
    program.act(intents.Do("candidate", compared.candidates[0].candidate))
    program.tick()
    program.act(intents.GoOn())
    pick(program, 1, (3,))
    save(program, "move")


def make_own_world(drills: dict[str, Drill]) -> World:
    """Make a world whose long work is really done."""
    return make_world(drills, worker=InlineWorker(make_work(Conditions())), player=PicturePlayer(), files=Paths())


def pick(program: Program, version: int, missed: tuple[int, ...]) -> None:
    """Pick one version throughout, but for some questions."""
    while program.state.blind is not None:
        held = program.state.blind.held
        place = held.asked[len(held.answers)].sounds.index(version)
        wanted = place if len(held.answers) not in missed else 1 - place
        program.act(intents.GiveAnswer(str(wanted + 1)))


def play(world: World, drill: str, rng: np.random.Generator, stop_at: int, picture: str, also: bool = False) -> Program:
    """Begin a run, answer some questions, and picture the last answer."""
    program = Program(world, Opening(drill))
    program.tick()
    if also:
        program.act(intents.Listen(2))
        save(program, "example")
    program.act(intents.GoOn())
    program.tick()
    answer(program, world, drill, rng, stop_at - 1)
    program.act(intents.Listen(2))
    if also:
        save(program, "question")
    reply(program, world, drill, rng)
    save(program, picture, night=not also)
    program.tick()
    program.act(intents.GoOn())
    program.tick()
    return program


def answer(program: Program, world: World, drill: str, rng: np.random.Generator, left: int) -> None:
    """Answer as a simulated listener would, and go on."""
    for _ in range(left):
        reply(program, world, drill, rng)
        program.tick()
        program.act(intents.GoOn())
        program.tick()
        if isinstance(program.view(), DemonstrationView):
            program.act(intents.GoOn())
            program.tick()


def reply(program: Program, world: World, drill: str, rng: np.random.Generator) -> None:
    """Answer one question."""
    run = program.state.run
    assert run is not None and run.trial is not None and isinstance(world.clock, FakeClock)
    world.clock.pass_time(8)
    task = FORMS[run.drill.form].task(run.drill)
    right = LISTENERS[drill].answer(run.trial.spec.amount, task, rng)
    wrong = next(text for text in run.trial.answers if text != run.trial.right_answer)
    text = run.trial.right_answer if right else wrong
    program.act(intents.Listen(int(text)))
    program.act(intents.GiveAnswer(text))


def save(program: Program, name: str, night: bool = False) -> None:
    """Draw what is shown, in the paper or the night theme."""
    view = program.view()
    frame = replace(view.frame, theme="night" if night else "paper")
    pen = draw(replace(view, frame=frame), SIZE)
    pygame.image.save(pen.surface, FOLDER / f"{name}.png")


if __name__ == "__main__":
    main()
