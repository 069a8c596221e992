"""Hear and look: named versions, and whether a difference is heard. No answer is right."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.exercise.drill import Drill
from trainer.exercise.forms.demonstration import lay_out_demonstration
from trainer.exercise.forms.form import FIRST, Grade, Layout, Turn
from trainer.exercise.forms.picking import Unjudged

HEARD, NOT_HEARD = "yes", "no"


@dataclass(frozen=True)
class Lesson(Unjudged):
    """The loop as it is and processed, both named: is a difference heard on this set-up?

    For what a meter shows better than ears do, and for asking once what a set-up plays. It is no hearing test.
    """

    name: str = "lesson"
    title: str = "Hear and look"

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Name both versions."""
        named = lay_out_demonstration(drill, amount)
        labels = tuple(f"{number}, {label}" for number, label in enumerate(named.labels, 1))
        return Layout(named.takes, labels, (HEARD, NOT_HEARD), "", named.target)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Say what was said."""
        words = "You hear a difference." if answer == HEARD else "You hear no difference here, on this set-up."
        return Grade(None, float(answer == HEARD), None, words)
