"""The program in the terminal: drills, bounces and mixes in words, on standard input and output."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.app.world import Conditions, DrillWish, build_world
from trainer.decisions.loud_sections import LEAST_COMPARED_S
from trainer.errors import BadValue, EvenhandError
from trainer.files.sound_blocks import open_sound
from trainer.files.sound_reading import LONGEST_S, hash_file
from trainer.session.day import find_break, list_others, plan_day
from trainer.session.plan_words import describe_break, describe_choice, describe_length, describe_line
from trainer.session.program import Opening
from trainer.session.run import begin_run
from trainer.session.screens import Program
from trainer.session.words import CAUTIONS
from trainer.session.world import World
from trainer.text.drill import Terminal, TextRun
from trainer.text.pages import TextProgram

if TYPE_CHECKING:
    from trainer.decisions.beam import BeamJob

WIDEST = 100
# What a mix may be sent back for; faults and word lengths wait until first impressions are noted.
SAID_FIRST = ("length", "peaks", "limiter", "source", "sides", "mono")
# Lengths that heads tell may be off by a frame or two.
SAME_LENGTH_S = 0.05


def weigh_in_text(conditions: Conditions, job: BeamJob, as_json: bool, silent: bool) -> int:
    """Compare bounces blind on standard input and output; gives the number of files that were left out.

    Raises
    ------
    EvenhandError
        If fewer than two files can be compared.
    """
    terminal = open_terminal(as_json)
    with build_world(conditions, DrillWish(silent=silent), in_process=True) as world:
        _say_first(world, terminal, silent)
        program = Program(world, Opening(bounces=job, cautions_said=True))
        program.tick()
        beam = program.state.weigh.beam
        if beam is None:
            raise EvenhandError(program.state.message)
        for line in beam.left_out:
            terminal.complain(EvenhandError(line))
        TextProgram(program, terminal).play()
        return len(beam.left_out)


def decide_in_text(conditions: Conditions, opening: Opening, as_json: bool, silent: bool) -> None:
    """Lead a mix through the six steps on standard input and output; the path of its sheet is said last.

    Raises
    ------
    EvenhandError
        If the mix cannot be opened, or a reference is the mix itself.
    """
    terminal = open_terminal(as_json)
    refuse_unfit(opening.mix, opening.references)
    with build_world(conditions, DrillWish(silent=silent), in_process=True) as world:
        _say_first(world, terminal, silent)
        program = Program(world, replace(opening, cautions_said=True))
        program.tick()
        sheet = program.state.mix.sheet
        if sheet is None:
            raise EvenhandError(program.state.message)
        _say_readiness(program, terminal)
        try:
            TextProgram(program, terminal).play()
        finally:
            path = world.projects.find_sheet(sheet.project)
            terminal.tell({"event": "sheet", "path": path})
            terminal.say_path(path)


def _say_readiness(program: Program, terminal: Terminal) -> None:
    """Say what is to be looked at in a mix before it is begun: nobody would see it on another part of the page."""
    opened = program.state.mix.opened
    for item in opened.intake if opened is not None else ():
        if item.outcome != "pass" and item.topic in SAID_FIRST:
            terminal.say(f"{item.reason} {item.next_step}".strip())


def refuse_unfit(mix: str, references: Sequence[str]) -> None:
    """Refuse a mix longer than a song, and a reference that is the mix itself or shorter than what is compared.

    Raises
    ------
    BadValue
        With the first such file.
    """
    place = Path(mix).expanduser()
    if not place.is_file():
        return
    mix_s = _read_length_s(place)
    if mix_s > LONGEST_S:
        expected = (
            f"one song of at most {LONGEST_S / 60:.0f} min, and this has {mix_s / 60:.0f}; bounce each song alone"
        )
        raise BadValue("decide", "mix", place.name, expected)
    compared_s = min(LEAST_COMPARED_S, mix_s)
    files = [file for file in (Path(each).expanduser() for each in references) if file.is_file()]
    own = hash_file(place) if files else ""
    for file in files:
        if _read_length_s(file) < compared_s - SAME_LENGTH_S:
            expected = f"a song of at least {compared_s:.3g} s, as much as is compared of the mix"
            raise BadValue("decide", "--reference", file.name, expected)
        if hash_file(file) == own:
            raise BadValue("decide", "--reference", file.name, "another song: this file is the mix itself")


def _read_length_s(file: Path) -> float:
    """Read a file's length, s, from its head."""
    with open_sound(str(file)) as sound:
        return sound.form.duration_s


def open_terminal(as_json: bool) -> Terminal:
    """Open standard input and output."""
    width = min(shutil.get_terminal_size().columns, WIDEST) if sys.stdout.isatty() else 0
    return Terminal(iter(sys.stdin.readline, ""), sys.stdout, sys.stderr, as_json, width)


def _say_first(world: World, terminal: Terminal, silent: bool) -> None:
    """Give the cautions at the first time."""
    if not silent and world.store.read_setting("cautions_seen", "no") != "yes":
        for sentence in CAUTIONS:
            terminal.say(sentence)


def run_text(conditions: Conditions, wish: DrillWish, as_json: bool) -> None:
    """Run a drill, or today's plan, on standard input and output."""
    terminal = open_terminal(as_json)
    with build_world(conditions, wish, in_process=True) as world:
        _say_first(world, terminal, wish.silent)
        if world.player.output.note:
            _refuse_unheard(world, wish, as_json)
            terminal.say(world.player.output.note)
        runs = _list_runs(world, wish)
        if wish.drill is None:
            _say_plan(world, terminal)
        for number, (name, trials) in enumerate(runs, 1):
            if wish.drill is None and world.plays(name) is False:
                # An answer about the set-up came after the plan was made.
                continue
            if wish.drill is None:
                terminal.say(f"{number} of {len(runs)}: {world.drills[name].title}.")
            examples = wish.trials is None and not wish.silent and sys.stdin.isatty()
            try:
                if not _play(name, trials, world, terminal, examples):
                    break
            except EvenhandError:
                others = ", ".join(drill.drill for drill in list_others(world, (name,)))
                terminal.say(f"{world.drills[name].title} cannot be put on this music. Others that may: {others}.")
                raise


def _say_plan(world: World, terminal: Terminal) -> None:
    """Say how long today's plan takes, what it is made of, and why each line is there."""
    plan, minutes = plan_day(world), find_break(world)
    if minutes:
        terminal.say(describe_break(minutes))
    terminal.say(f"{describe_length(plan)} {describe_choice(plan)}")
    for line in plan.left:
        what, span, reason = describe_line(line)
        told = "; ".join(part for part in (what.replace(" · ", ", "), span, reason) if part)
        terminal.say(f"{line.standing.drill.title}: {told}.")


def _refuse_unheard(world: World, wish: DrillWish, as_json: bool) -> None:
    """Refuse questions that a person at the keyboard could not hear; lines from a pipe wait for no sound.

    Raises
    ------
    BadValue
        With what to do.
    """
    if world.player.output.silent and not wish.silent and not as_json and sys.stdin.isatty():
        expected = "one that can be opened (see `evenhand doctor`), or --silent for questions without sound"
        raise BadValue("drill", "output", "none", expected)


def _play(name: str, trials: int, world: World, terminal: Terminal, examples: bool) -> bool:
    """Run a drill, and first the lesson that says whether the set-up plays it; tells whether all was answered."""
    check = world.find_lesson_first(name) if examples else ""
    if check:
        lesson = begin_run(world.find_standing(check), world.choose_seed(), world.drills[check].trials, False)
        if not TextRun(lesson, world, terminal).play():
            return False
        if not world.plays(name):
            return True
    run = begin_run(world.find_standing(name), world.choose_seed(), trials, examples)
    return TextRun(run, world, terminal).play()


def _list_runs(world: World, wish: DrillWish) -> list[tuple[str, int]]:
    """List the drills to run with their numbers of trials: the one named, or today's plan."""
    if wish.drill is not None:
        return [(wish.drill, wish.trials or world.drills[wish.drill].trials)]
    plan = plan_day(world)
    return [(line.standing.drill.drill, wish.trials or line.trials) for line in plan.left or plan.lines]
