"""What the history tells, looked at in five ways."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.progress_place_facts import (
    compare_music,
    compare_setups,
    list_comparable,
    list_practised,
    trace_course,
)
from trainer.session.progress_place_state import Look, ProgressState
from trainer.session.state import State
from trainer.session.world import World

LOOKS: tuple[Look, ...] = get_args(Look)


def enter_progress(state: State, world: World) -> State:
    """Begin with where the ear stands now."""
    return replace(state, progress=ProgressState())


def act_on_progress(state: State, intent: Intent, world: World) -> State | None:
    """Look in another way, or at another skill."""
    if isinstance(intent, intents.Do):
        return _do(state, intent, world)
    if state.progress.look != "days":
        return None
    chosen = find_chosen(state, world)
    if isinstance(intent, intents.ListenOther) and chosen is not None:
        heard = list_heard(world)
        return _choose(state, heard[(heard.index(chosen) + intent.step) % len(heard)], world)
    if isinstance(intent, intents.GoOn) and chosen is not None:
        return _trace(state, chosen, world)
    if isinstance(intent, intents.GoBack) and state.progress.course is not None:
        return _put(state, course=None)
    return None


def tick_progress(state: State, world: World) -> State:
    """Compare one skill more: all at once would take too long."""
    progress = state.progress
    if not progress.pending:
        return state
    drill, *rest = progress.pending
    found = drill, world.store.list_trials(), world.today()
    setups, music = (*progress.setups, *compare_setups(*found)), (*progress.music, *compare_music(*found))
    return _put(state, pending=tuple(rest), setups=setups, music=music)


def list_heard(world: World) -> tuple[Drill, ...]:
    """List the skills that have answers under the conditions in force."""
    return list_practised(world.drills.values(), world.store.list_trials(), world.setup_in_force, world.audio_class)


def find_chosen(state: State, world: World) -> Drill | None:
    """Find the skill that is chosen; None where none was practised."""
    heard = list_heard(world)
    return next((drill for drill in heard if drill.skill == state.progress.chosen), next(iter(heard), None))


def _do(state: State, intent: intents.Do, world: World) -> State | None:
    """Do what one of the page's buttons says."""
    if intent.what == "look" and intent.value in LOOKS:
        return _look(state, next(look for look in LOOKS if look == intent.value), world)
    if intent.what == "skill":
        return _trace(state, next(drill for drill in list_heard(world) if drill.skill == intent.value), world)
    return _put(state, course=None) if intent.what == "skills" else None


def _look(state: State, look: Look, world: World) -> State:
    """Look in another way."""
    pending = list_comparable(world.drills.values(), world.store.list_trials()) if look == "compared" else ()
    return _put(state, look=look, course=None, pending=pending, setups=(), music=())


def _choose(state: State, drill: Drill, world: World) -> State:
    """Choose another skill, and show it where one is shown already."""
    return _put(state, chosen=drill.skill) if state.progress.course is None else _trace(state, drill, world)


def _trace(state: State, drill: Drill, world: World) -> State:
    """Look at a skill over the days."""
    course = trace_course(drill, world.store.list_trials(), world.setup_in_force, world.audio_class)
    return _put(state, chosen=drill.skill, course=course)


def _put(state: State, **changes: object) -> State:
    """Change what is looked at."""
    return replace(state, progress=replace(state.progress, **changes))  # type: ignore[arg-type]
