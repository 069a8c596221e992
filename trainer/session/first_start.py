"""From the cautions to the first drill: a level with music, both sides, the set-up's name and its volume."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

from trainer.errors import EvenhandError
from trainer.exercise.sound_check import SIDES, SIDES_LUFS, make_sides, specify_music
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


def tick_first_start(state: State, world: World) -> State:
    """Take in the music that was asked for; it waits until it is started."""
    if state.wanted is None:
        return state
    try:
        made = world.workshop.collect()
    except EvenhandError as error:
        return _miss_music(state, error)
    if made is None:
        return state
    return _load_music(replace(state, made=made, wanted=None), world)


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
    first = replace(state.first, step=step, side=SIDES.index("middle") + 1, heard=False)
    state = replace(state, typed="", first=first)
    if step == "level":
        return _load_music(state, world) if state.made is not None else _want_music(state, world)
    if step == "sides":
        rate_hz = world.player.output.rate_hz
        world.player.load(make_sides(SIDES_LUFS, rate_hz), rate_hz)
        world.player.select(first.side - 1)
    return state


def _want_music(state: State, world: World) -> State:
    """Ask the workshop for music, unless that was done."""
    spec = specify_music(world.drills, world.choose_seed())
    if spec is None or state.wanted is not None:
        return replace(state, first=replace(state.first, missing=spec is None))
    try:
        world.workshop.submit(spec)
    except EvenhandError as error:
        return _miss_music(state, error)
    return replace(state, wanted=spec, first=replace(state.first, missing=False))


def _load_music(state: State, world: World) -> State:
    """Load the loop as it is, where the step that plays it is open."""
    assert state.made is not None
    if state.first.step == "level":
        world.player.load(state.made.sounds[:1], state.made.rate_hz)
    return state


def _miss_music(state: State, error: EvenhandError) -> State:
    """Say why there is no music; the check goes on without."""
    first = replace(state.first, missing=True)
    return replace(state, wanted=None, first=first, message=str(error).splitlines()[0])


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
    return replace(state, screen=state.home, typed="", setting=SetupState(), wanted=None, made=None)


def _start(state: State, intent: Intent, world: World) -> State | None:
    return start_drill(state, intent.drill, world) if isinstance(intent, intents.StartDrill) else None


def _listen(state: State, intent: Intent, world: World) -> State | None:
    """Begin or pause the sound, or hear another side."""
    player, first = world.player, state.first
    if first.step == "level" and state.made is None:
        return None
    if isinstance(intent, intents.ToggleSound):
        if player.position().playing:
            player.pause()
        else:
            player.play()
        return replace(state, first=replace(first, heard=True))
    if first.step == "level":
        return None
    if isinstance(intent, intents.ListenOther):
        return _hear(state, (first.side - 1 + intent.step) % len(SIDES) + 1, world)
    if isinstance(intent, intents.Listen) and 1 <= intent.version <= len(SIDES):
        return _hear(state, intent.version, world)
    return None


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
