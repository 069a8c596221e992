"""A tone after each answer, for eyes that are closed: none, one that says it is taken, or two that say what was so."""

from __future__ import annotations

from typing import Literal, get_args

from trainer.ports import Store
from trainer.session.run import Run
from trainer.session.state import State
from trainer.session.world import World

Choice = Literal["none", "one", "telling"]
CHOICES: tuple[Choice, ...] = get_args(Choice)
TONES: dict[Choice, str] = {"none": "No tone", "one": "A tone", "telling": "Tones that tell"}
SETTING = "answer_tones"
TAKEN_HZ = (660.0,)
RIGHT_HZ, WRONG_HZ = (660.0, 880.0), (880.0, 660.0)
EXAMPLES = {"taken": TAKEN_HZ, "right": RIGHT_HZ, "wrong": WRONG_HZ}


def read_choice(store: Store) -> Choice:
    """Read what sounds after an answer; nothing unless it was chosen."""
    kept = store.read_setting(SETTING, "none")
    return next((choice for choice in CHOICES if choice == kept), "none")


def write_choice(store: Store, choice: Choice) -> None:
    """Keep what sounds after an answer."""
    store.write_setting(SETTING, choice)


def say_choice(choice: Choice) -> str:
    """Say what was chosen where it is typed."""
    return f"{TONES[choice]} after each answer, from now on."


def choose_tones(choice: Choice, right: bool | None) -> tuple[float, ...]:
    """Give the tones after an answer, Hz: rising where it is told to be right, falling where wrong, else one."""
    if choice == "none":
        return ()
    if choice == "one" or right is None:
        return TAKEN_HZ
    return RIGHT_HZ if right else WRONG_HZ


def sound_answer(right: bool | None, world: World) -> None:
    """Sound what was chosen; ``right`` is None where nothing is told, or nothing is right or wrong."""
    tones_hz = choose_tones(read_choice(world.store), right)
    if tones_hz:
        world.player.sound_notes(tones_hz)


def sound_change(before: State, after: State, world: World) -> None:
    """Sound a tone where an answer was taken; what was so only where the screen shows it too."""
    if before.run is not None and after.run is not None and _gained(before.run, after.run):
        shown = after.run.phase == "reveal"
        sound_answer(after.run.outcomes[-1].correct if shown else None, world)
    elif before.blind is not None:
        held = after.blind.held if after.blind is not None else after.judged
        known = before.blind.held
        if held is not None and held.round == known.round and len(held.answers) > len(known.answers):
            sound_answer(None, world)


def _gained(before: Run, after: Run) -> bool:
    """Tell whether a run has one answer more."""
    return before.seed == after.seed and len(after.outcomes) > len(before.outcomes)
