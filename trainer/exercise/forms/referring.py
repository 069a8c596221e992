"""Set a mix beside a reference, another song of its style: which of two versions is nearer to it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.dsp.move import Effect
from trainer.errors import NotReachable
from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import (
    AS_IT_IS,
    FIRST,
    REFERENCE,
    AnswerKind,
    Grade,
    Layout,
    Placement,
    PlainForm,
    Turn,
)
from trainer.exercise.forms.picking import grade_choice, read_choice, take_processed
from trainer.units import write_amount, write_number

NEARER_DB, FURTHER_DB = "nearer_distance_db", "further_distance_db"
# By so much the two distances to the reference must differ, or what is measured would decide nothing.
LEAST_MARGIN_DB = 0.1
OF_REFERENCE, OF_MIX = "the reference", "the mix, near to it"


@dataclass(frozen=True)
class AgainstReference(PlainForm):
    """A reference, and the mix twice: brought as near to it as such a move can, and from there off to either side.

    The side is by lot. Were one of the two the mix as it came, and the other always led away from the reference, the
    answer would be the same throughout a song, and the reference need not be heard.
    """

    name: str = "against_reference"
    title: str = "Set beside a reference"
    answer_kind: AnswerKind = "choice"
    placement: Placement = "threshold"
    needs_reference: bool = True

    def task(self, drill: Drill) -> str | None:
        """Link: which of two lies nearer to a third, as in ABX, whichever way the other one is off.

        Picking one of two would be too easy a link: there the direction is named, here it is not known.
        """
        return "abx"

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Choose the side and the order of the two by lot."""
        off = take_processed(drill, amount * (1.0 if rng.integers(2) else -1.0))
        pair = [AS_IT_IS, off]
        if rng.integers(2):
            pair.reverse()
        moved = f"off by {write_amount(off.amount, signed=True)} {drill.amount.unit}"
        names = (OF_REFERENCE, *(moved if take.processed else OF_MIX for take in pair))
        target = 1 + pair.index(off)
        labels = (f"1, {OF_REFERENCE}", "2", "3")
        return Layout((REFERENCE, *pair), labels, ("2", "3"), str(4 - target), target, names=names)

    def settle(self, layout: Layout, effects: Sequence[Effect | None]) -> Layout:
        """See that the sound says so, too: the one version is measured to be nearer than the other."""
        effect = effects[layout.target]
        assert effect is not None
        margin_db = effect.measured[FURTHER_DB] - effect.measured[NEARER_DB]
        if margin_db < LEAST_MARGIN_DB:
            held = write_number(margin_db, 2)
            raise NotReachable(f"{self.name}: margin_db={held}, expected {LEAST_MARGIN_DB:g} or more between the two")
        return layout

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read a version's number."""
        return read_choice(text, layout.answers)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Compare with the nearer one's number."""
        return grade_choice(answer, layout, f"{layout.right_answer} is nearer to the reference.")
