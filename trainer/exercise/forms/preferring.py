"""Ask which is better: the louder copy of one sound, or one of several matched versions. No answer is right."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import (
    AS_IT_IS,
    FIRST,
    Grade,
    Layout,
    Placement,
    Reveals,
    Take,
    Turn,
)
from trainer.exercise.forms.naming import take_choice
from trainer.exercise.forms.picking import Unjudged, take_processed
from trainer.listening.preference import Choice, Pair, draw_round


def list_versions(drill: Drill, amount: float) -> tuple[Take, ...]:
    """List what is compared: the loop as it is, and the drill's choices or its own move."""
    if drill.choices:
        return (AS_IT_IS, *(take_choice(choice, amount) for choice in drill.choices))
    return AS_IT_IS, take_processed(drill, amount)


def name_versions(drill: Drill) -> tuple[str, ...]:
    """Name what is compared, in the same order."""
    if drill.choices:
        return ("the song as it is", *(choice.words for choice in drill.choices))
    return "the song as it is", "the processed version"


def find_pair(drill: Drill, turn: Turn) -> Pair:
    """Find the pair of a turn: round after round, each pair in a lot of its own."""
    versions, name = len(list_versions(drill, 0.0)), zlib.crc32(drill.drill.encode())
    place, number = turn.index, 0
    while True:
        pairs = draw_round(versions, np.random.default_rng([turn.seed, name, 5, number]))
        if place < len(pairs):
            return pairs[place]
        place, number = place - len(pairs), number + 1


def gather_choices(drill: Drill, seed: int, answers: Sequence[tuple[int, str]]) -> tuple[Choice, ...]:
    """Turn answers of a run, each with its index, into choices between versions.

    Parameters
    ----------
    drill : Drill
        What was asked.
    seed : int
        Of the run.
    answers : sequence of (int, str)
        The trial's place in the run, and the number that was preferred.
    """
    choices = []
    for index, answer in answers:
        pair = find_pair(drill, Turn(seed, index))
        choices.append(Choice(pair, pair.left if answer == "1" else pair.right))
    return tuple(choices)


@dataclass(frozen=True)
class Prefer(Unjudged):
    """Two of several versions, on sides by lot: which one is preferred? What they were is shown only at the end."""

    name: str = "prefer"
    title: str = "Pick the one you prefer"
    reveals: Reveals = "last"
    stays: bool = True

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Put the turn's pair up; the right answer is none."""
        pair, versions = find_pair(drill, turn), list_versions(drill, amount)
        takes = (versions[pair.left], versions[pair.right])
        names = (name_versions(drill)[pair.left], name_versions(drill)[pair.right])
        # Of two processed versions the second one is shown afterwards.
        return Layout(takes, ("1", "2"), ("1", "2"), "", 1 if takes[1].processed else 0, names=names)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Say which one was preferred; 1 for a processed one."""
        place = int(answer) - 1
        return Grade(None, float(layout.takes[place].processed), None, f"You preferred {layout.names[place]}.")


@dataclass(frozen=True)
class LouderOrBetter(Unjudged):
    """The same sound twice, one copy a little louder, which is not said: how often does it win?

    After the last answer a third version is there: the louder copy, brought back to the level of the other.
    """

    name: str = "louder_or_better"
    title: str = "Louder or better"
    placement: Placement = "by_lot"
    reveals: Reveals = "last"

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Put both copies in an order by lot, and hold the matched one back; the right answer is none."""
        takes = [AS_IT_IS, take_processed(drill, amount)]
        if rng.integers(2):
            takes.reverse()
        names = (
            *("the louder copy" if take.processed else "the softer copy" for take in takes),
            "the louder one, matched",
        )
        target = 0 if takes[0].processed else 1
        return Layout((*takes, AS_IT_IS), ("1", "2", "3"), ("1", "2"), "", target, held_back=1, names=names)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Say which one was preferred; 1 for the louder one."""
        place = int(answer) - 1
        words = f"You preferred {layout.names[place]}. Matched, both are the same sound: compare 3."
        return Grade(None, float(layout.takes[place].processed), None, words)
