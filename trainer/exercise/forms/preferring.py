"""Ask which is better: the louder copy of one sound, or one of two matched versions. No answer is right."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import AS_IT_IS, AnswerKind, Grade, Layout, Placement, PlainForm
from trainer.exercise.forms.picking import read_choice, take_processed


@dataclass(frozen=True)
class Prefer(PlainForm):
    """Two versions, one as it is and one processed, in an order by lot: which one do you prefer?"""

    name: str = "prefer"
    title: str = "Pick the one you prefer"
    answer_kind: AnswerKind = "choice"
    placement: Placement = "fixed"
    said: str = "the processed version"

    def task(self, drill: Drill) -> str | None:
        """Link: none; no answer is right."""
        return None

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator) -> Layout:
        """Put both in an order by lot; the right answer is none."""
        takes = [AS_IT_IS, take_processed(drill, amount)]
        if rng.integers(2):
            takes.reverse()
        return Layout(tuple(takes), ("1", "2"), ("1", "2"), "", 0 if takes[0].processed else 1)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read a version's number."""
        return read_choice(text, layout.answers)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Say which one was preferred; 1 for the processed one."""
        processed = layout.takes[int(answer) - 1].processed
        words = f"You preferred {self.said}." if processed else f"You did not prefer {self.said}."
        return Grade(None, float(processed), None, words)


@dataclass(frozen=True)
class LouderOrBetter(Prefer):
    """The same sound twice, one copy a little louder, which is not said: how often does it win?"""

    name: str = "louder_or_better"
    title: str = "Louder or better"
    placement: Placement = "by_lot"
    said: str = "the louder copy"
