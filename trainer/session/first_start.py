"""From the cautions to the first drill: a level with quiet noise, both sides, the set-up's name and its volume."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

from trainer.exercise.sound_check import LEVELS_LUFS, SIDES, make_levels, make_sides
from trainer.session import intents
from trainer.session.day import plan_day
from trainer.session.first_start_state import FirstStart, Step
from trainer.session.intents import Intent
from trainer.session.setup_names import add_name, list_names, use_name, write_note
from trainer.session.setup_state import SetupState
from trainer.session.state import State
from trainer.session.training import start_drill
from trainer.session.typing_line import act_on_line
from trainer.session.world import World

STEPS: tuple[Step, ...] = get_args(Step)
TYPED: tuple[Step, ...] = ("setup", "volume")


def begin_first_start(state: State, world: World) -> State:
    """Open the first step after the cautions; without sound there is nothing to check, and the plan comes."""
    if world.player.output.silent:
        return state
    return _open(replace(state, screen="first", home="today", first=FirstStart()), "level", world)


def enter_first_start(state: State, world: World) -> State:
    """Open the first step again, from Setup."""
    return _open(replace(state, home="setup", first=FirstStart(again=True)), "level", world)


def act_on_first_start(state: State, intent: Intent, world: World) -> State | None:
    """Act by the step that is open; every one can be passed over."""
    step = state.first.step
    if step in TYPED:
        typed = act_on_line(state, intent, world)
        if typed is not None:
            return typed
        if isinstance(intent, intents.GiveAnswer):
            return _take_line(state, intent.text.strip(), world)
        if isinstance(intent, intents.GoOn):
            return _take_line(state, state.typed.strip(), world)
    if isinstance(intent, intents.Do):
        return _do(state, intent, world)
    if isinstance(intent, intents.GoBack):
        return replace(state, typed="") if state.typed else _leave(state, world)
    if isinstance(intent, intents.GoOn):
        return _go_on(state, world)
    if step == "drill":
        return _start(state, intent, world)
    return _listen(state, intent, world) if step in ("level", "sides") else None


def find_first_drill(world: World) -> str:
    """Name the drill that the plan begins with; empty where there is none."""
    return next((line.standing.drill.drill for line in plan_day(world).lines), "")


def _do(state: State, intent: intents.Do, world: World) -> State | None:
    """Do what one of the page's buttons says."""
    if intent.what == "step":
        return _open(state, next(step for step in STEPS if step == intent.value), world)
    if intent.what == "use":
        use_name(world.store, intent.value)
        return _go_on(state, world)
    if intent.what == "skip":
        return _go_on(state, world)
    return _leave(state, world) if intent.what == "leave" else None


def _open(state: State, step: Step, world: World) -> State:
    """Open a step; its sound is loaded and waits."""
    world.player.pause()
    rate_hz = world.player.output.rate_hz
    if step == "level":
        world.player.load(make_levels(rate_hz), rate_hz)
    elif step == "sides":
        world.player.load(make_sides(LEVELS_LUFS[state.first.level], rate_hz), rate_hz)
        world.player.select(SIDES.index("middle"))
    level = 0 if step == "level" else state.first.level
    return replace(state, typed="", first=replace(state.first, step=step, level=level, side=3))


def _go_on(state: State, world: World) -> State:
    """Open the next step, start the first drill, or go back to Setup."""
    place = STEPS.index(state.first.step) + 1
    last = "volume" if state.first.again else "drill"
    if state.first.step != last:
        return _open(state, STEPS[place], world)
    drill = "" if state.first.again else find_first_drill(world)
    return start_drill(state, drill, world) if drill else _leave(state, world)


def _leave(state: State, world: World) -> State:
    """Go to Today, or back to Setup."""
    world.player.pause()
    return replace(state, screen=state.home, typed="", setting=SetupState())


def _start(state: State, intent: Intent, world: World) -> State | None:
    return start_drill(state, intent.drill, world) if isinstance(intent, intents.StartDrill) else None


def _listen(state: State, intent: Intent, world: World) -> State | None:
    """Begin or pause the noise, change its level, or hear another side."""
    player, first = world.player, state.first
    if isinstance(intent, intents.ToggleSound):
        if player.position().playing:
            player.pause()
        else:
            player.play()
        return state
    if first.step == "level":
        return _change_level(state, intent, world)
    if isinstance(intent, intents.ListenOther):
        return _hear(state, (first.side - 1 + intent.step) % len(SIDES) + 1, world)
    if isinstance(intent, intents.Listen) and 1 <= intent.version <= len(SIDES):
        return _hear(state, intent.version, world)
    return None


def _change_level(state: State, intent: Intent, world: World) -> State | None:
    """Make the noise a step louder or softer, once it sounds."""
    if not isinstance(intent, intents.MoveControl) or not world.player.position().playing:
        return None
    level = min(max(state.first.level + intent.step, 0), len(LEVELS_LUFS) - 1)
    world.player.select(level)
    return replace(state, first=replace(state.first, level=level))


def _hear(state: State, side: int, world: World) -> State:
    """Hear the noise from another side."""
    world.player.select(side - 1)
    world.player.play()
    return replace(state, first=replace(state.first, side=side))


def _take_line(state: State, text: str, world: World) -> State:
    """Keep what was typed, if anything was, and go on."""
    if text and state.first.step == "setup":
        if text not in list_names(world.store):
            add_name(world.store, text)
        use_name(world.store, text)
    elif text:
        write_note(world.store, world.setup_named, text)
    return _go_on(state, world)
