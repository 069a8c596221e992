"""A part of the program that can be gone to: how it is worded, and what it does with what a person wants."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trainer.decisions.rounds import Round
from trainer.session.intents import Intent
from trainer.session.pages import View
from trainer.session.state import State
from trainer.session.world import World


def _stay(state: State, world: World) -> State:
    """Let nothing happen by itself."""
    return state


def _pass_over(state: State, held: Round, world: World) -> State:
    """Take no rounds in."""
    return state


@dataclass(frozen=True)
class Place:
    """Hold the functions of one part of the program.

    Parameters
    ----------
    view : callable
        Words its screen.
    act : callable
        Answers an intent with the next state; None where it has no place there.
    tick : callable
        Takes in what happened meanwhile.
    enter : callable
        Comes before its screen is shown, when it is gone to.
    take_round : callable
        Takes in a blind round that was begun from it and is complete.
    """

    view: Callable[[State, World], View]
    act: Callable[[State, Intent, World], State | None]
    tick: Callable[[State, World], State] = _stay
    enter: Callable[[State, World], State] = _stay
    take_round: Callable[[State, Round, World], State] = _pass_over
