"""Name what was done: the move, the band, the direction, or whose business it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.errors import BadValue
from trainer.exercise.drill import Choice, Drill
from trainer.exercise.forms.form import AS_IT_IS, FIRST, AnswerKind, Grade, Layout, Placement, PlainForm, Take, Turn
from trainer.exercise.forms.picking import grade_choice, read_choice
from trainer.listening.links import NAMES_OF_NUMBERS


@dataclass(frozen=True)
class NameIt(PlainForm):
    """The loop as it is, and one version with one of several changes, which has to be named.

    It also asks whether the names are known, so its threshold is a skill of its own; answers are kept as confusions.
    """

    name: str = "name_it"
    title: str = "Name what was done"
    answer_kind: AnswerKind = "choice"
    placement: Placement = "threshold"

    def task(self, drill: Drill) -> str | None:
        """Link: one among as many as there are names."""
        return f"pick_of_{NAMES_OF_NUMBERS[len(drill.choices)]}" if len(drill.choices) in NAMES_OF_NUMBERS else None

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Choose one of the changes by lot."""
        if len(drill.choices) < 2:
            raise BadValue(drill.drill, "choices", len(drill.choices), "two or more things to name")
        choice = drill.choices[int(rng.integers(len(drill.choices)))]
        answers = tuple(offered.answer for offered in drill.choices)
        return Layout((AS_IT_IS, take_choice(choice, amount)), ("1, as it is", "2"), answers, choice.answer, 1)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read an answer's word or its number."""
        return read_choice(text, layout.answers)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Compare with what was done."""
        right = next(choice for choice in drill.choices if choice.answer == layout.right_answer)
        return grade_choice(answer, layout, f"It was {right.words}.")


def take_choice(choice: Choice, amount: float) -> Take:
    """Ask for one of the changes, in its own direction and in its own share of the amount."""
    return Take(choice.move, choice.share * amount, choice.settings)
