"""All drills by family: one chosen, found by typing, read about, started."""

from __future__ import annotations

from dataclasses import replace

from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.drills_search import find_drills
from trainer.session.intents import Intent
from trainer.session.state import State
from trainer.session.training import start_drill
from trainer.session.typing_line import act_on_line
from trainer.session.world import World


def act_on_drills(state: State, intent: Intent, world: World) -> State | None:
    """Look for a drill, open a family, choose a line, start."""
    typed = act_on_line(state, intent, world)
    if typed is not None:
        return _put(typed, chosen="")
    if isinstance(intent, intents.GiveAnswer):
        return _put(replace(state, typed=intent.text.strip()), chosen="")
    if isinstance(intent, intents.StartDrill):
        return start_drill(state, intent.drill, world)
    if isinstance(intent, intents.GoOn):
        return _go_on(state, world)
    if isinstance(intent, intents.ListenOther):
        return _choose(state, intent.step, world)
    if isinstance(intent, intents.GoBack):
        return _go_back(state)
    return _do(state, intent) if isinstance(intent, intents.Do) else None


def list_families(world: World) -> tuple[str, ...]:
    """List the families that have drills, in their order."""
    return tuple(dict.fromkeys(drill.subject for drill in world.drills.values()))


def list_shown(state: State, world: World) -> tuple[Drill, ...]:
    """List the drills that are shown: what was found, or those of the family that is open."""
    if state.typed.strip():
        return find_drills(world.drills.values(), state.typed)
    return tuple(drill for drill in world.drills.values() if drill.subject == state.drills.family)


def find_chosen(state: State, world: World) -> str:
    """Find the line that is chosen: a drill where drills are shown, else a family; empty where there is none."""
    lines = _list_lines(state, world)
    return state.drills.chosen if state.drills.chosen in lines else next(iter(lines), "")


def shows_families(state: State) -> bool:
    """Tell whether families are shown."""
    return not state.typed.strip() and not state.drills.family


def _list_lines(state: State, world: World) -> tuple[str, ...]:
    if shows_families(state):
        return list_families(world)
    return tuple(drill.drill for drill in list_shown(state, world))


def _go_on(state: State, world: World) -> State:
    """Open the family that is chosen, or start the drill."""
    chosen = find_chosen(state, world)
    if shows_families(state):
        return _put(state, family=chosen, chosen="")
    return start_drill(state, chosen, world) if chosen else state


def _choose(state: State, step: int, world: World) -> State:
    """Choose another line."""
    lines = _list_lines(state, world)
    if not lines:
        return state
    return _put(state, chosen=lines[(lines.index(find_chosen(state, world)) + step) % len(lines)])


def _do(state: State, intent: intents.Do) -> State | None:
    """Open a family, show what a drill is, or go back to all."""
    if intent.what == "family":
        return _put(replace(state, typed=""), family=intent.value, chosen="")
    if intent.what == "show":
        return _put(state, chosen=intent.value)
    return _put(replace(state, typed=""), family="", chosen=state.drills.family) if intent.what == "all" else None


def _go_back(state: State) -> State | None:
    """Clear the line first, then close the family; None where there is nothing to go back from."""
    if state.typed:
        return _put(replace(state, typed=""), chosen="")
    return _put(state, family="", chosen=state.drills.family) if state.drills.family else None


def _put(state: State, **changes: str) -> State:
    """Change the place in the list."""
    return replace(state, drills=replace(state.drills, **changes))
