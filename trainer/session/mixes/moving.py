"""What every step does with the state: change it, write the sheet, ask for work, ask blind."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from trainer.decisions.mix_jobs import VersionsHeard
from trainer.decisions.round_verdicts import Next, find_next
from trainer.decisions.rounds import Kind, Round
from trainer.decisions.sheet import STEPS, Sheet, StepName
from trainer.session.blind import begin_blind
from trainer.session.blind_state import Heard
from trainer.session.sittings import begin_round, list_sitting
from trainer.session.state import State
from trainer.session.world import World
from trainer.units import write_number, write_spread, write_time


def put(state: State, **changes: Any) -> State:
    """Change where the mix stands."""
    return replace(state, mix=replace(state.mix, **changes))


def get_sheet(state: State) -> Sheet:
    """Give the sheet of the mix that is open."""
    assert state.mix.sheet is not None
    return state.mix.sheet


def keep(state: State, sheet: Sheet, world: World) -> State:
    """Write the sheet and its page, and go on with it."""
    return put(state, sheet=sheet, sheet_page=world.projects.write(sheet))


def want(state: State, job: object, world: World) -> State:
    """Ask for long work."""
    world.player.pause()
    world.worker.submit(job)
    return put(replace(state, typed=""), page="working", stage=None)


def open_step(state: State, step: StepName, world: World) -> State:
    """Go to a step."""
    world.player.pause()
    return put(replace(state, typed=""), page="step", step=step, chosen="", heard=None, field=0)


def put_off(state: State, what: str, world: World) -> State:
    """Leave the mix, and say what stays open for another day; the sheet holds all that was heard."""
    world.player.pause()
    left = put(replace(state, typed=""), page="projects", sheet=None, opened=None, heard=None)
    return replace(left, message=tell_put_off(what))


def tell_put_off(what: str) -> str:
    """Say what stays open for another day."""
    return f"Left for another day: {what}. All you heard so far is kept."


def finish_step(state: State, world: World) -> State:
    """Mark the open step as finished and go to the next one; the last one stays open."""
    sheet, step = get_sheet(state), state.mix.step
    if step not in sheet.finished:
        finished = tuple(each for each in STEPS if each in sheet.finished or each == step)
        state = keep(state, replace(sheet, finished=finished), world)
    place = STEPS.index(step)
    return open_step(state, STEPS[min(place + 1, len(STEPS) - 1)], world)


def find_following(rounds: tuple[Round, ...], versions: tuple[str, ...], world: World) -> Next:
    """Say what this sitting asks next of some versions."""
    return find_next(list_sitting(rounds, world), versions)


def ask_blind(
    state: State,
    heard: VersionsHeard,
    names: tuple[str, ...],
    kind: Kind,
    pair: tuple[int, int],
    world: World,
) -> State:
    """Begin a round, or go on with one that was left today."""
    stretches = heard.stretches if kind == "prefer" else heard.stretches[:1]
    held = begin_round(world, kind, heard.hashes, names, pair, stretches)
    return begin_blind(state, held, word_heard(heard, get_sheet(state).project), world)


def word_heard(heard: VersionsHeard, title: str) -> Heard:
    """Give what a round is heard on."""
    word = "both" if heard.sounds[0].shape[0] == 2 else "all"
    loudness = f"{write_number(heard.loudness_lufs)} LUFS"
    return Heard(
        title,
        heard.sounds,
        heard.rate_hz,
        heard.outlines,
        tuple((write_time(start), write_time(end)) for start, end in heard.stretches),
        heard.captions,
        f"{word} at {loudness}, within {write_spread(heard.spread_lu)}",
    )
