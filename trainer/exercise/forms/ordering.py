"""Put versions in order, from the least to the most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from trainer.dsp.move import Effect
from trainer.errors import BadValue, NotReachable
from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import FIRST, AnswerKind, Grade, Layout, Placement, PlainForm, Turn
from trainer.exercise.forms.picking import take_processed
from trainer.units import write_number

AT_A_TIME = 4
WAS_DB, BECAME_DB = "hits_over_song_before_db", "hits_over_song_after_db"
# Neighbours must differ by this much in what became of the hits, where that is measured: common practice, no source.
LEAST_COST_DB = 0.4


@dataclass(frozen=True)
class PutInOrder(PlainForm):
    """Four versions of one move, each further than the last, to be put in order from the least to the most."""

    name: str = "put_in_order"
    title: str = "Put in order"
    answer_kind: AnswerKind = "order"
    placement: Placement = "fixed"

    def task(self, drill: Drill) -> str | None:
        """Link: none; what counts are the pairs in the wrong order."""
        return None

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Take four neighbouring rungs of the ladder, and shuffle them."""
        rungs = drill.rungs
        if len(rungs) < 2:
            raise BadValue(drill.drill, "rungs", len(rungs), "two rungs or more")
        count = min(AT_A_TIME, len(rungs))
        first = int(rng.integers(len(rungs) - count + 1))
        chosen = rungs[first : first + count]
        order = rng.permutation(count)
        takes = tuple(take_processed(drill, chosen[int(rung)]) for rung in order)
        numbers = tuple(str(number + 1) for number in range(count))
        right = " ".join(str(int(place) + 1) for place in np.argsort(order))
        return Layout(takes, numbers, (), right, int(np.argmax(order)))

    def settle(self, layout: Layout, effects: Sequence[Effect | None]) -> Layout:
        """See that each rung costs the hits more than the one below it."""
        costs = [
            effect.measured[WAS_DB] - effect.measured[BECAME_DB]
            for place in layout.right_answer.split()
            if (effect := effects[int(place) - 1]) is not None and {WAS_DB, BECAME_DB} <= effect.measured.keys()
        ]
        for lower, upper in pairwise(costs):
            if upper - lower < LEAST_COST_DB:
                step = write_number(upper - lower, 2)
                raise NotReachable(
                    f"{self.name}: step_db={step}, expected rungs {LEAST_COST_DB:g} dB apart on the hits"
                )
        return layout

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read all the numbers, in the order asked for, with spaces or commas between them."""
        numbers = text.replace(",", " ").split()
        count = len(layout.takes)
        if sorted(numbers) != [str(number + 1) for number in range(count)]:
            raise BadValue("answer", "order", text.strip() or "nothing", f"each of 1 to {count} once, in that order")
        return " ".join(numbers)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Count the pairs that stand in the wrong order."""
        wrong = count_inversions(answer.split(), layout.right_answer.split())
        pairs = len(layout.takes) * (len(layout.takes) - 1) // 2
        words = f"The order is {layout.right_answer}{_count_words(wrong, pairs)}."
        return Grade(wrong == 0, 1 - wrong / pairs, None, words)


def count_inversions(answer: list[str], right: list[str]) -> int:
    """Count the pairs that two orders of the same things put in opposite order (Kendall's distance)."""
    place = {thing: number for number, thing in enumerate(right)}
    return sum(place[first] > place[second] for first, second in combinations(answer, 2))


def _count_words(wrong: int, pairs: int) -> str:
    """Count what was the wrong way round, as the end of a sentence."""
    return "" if wrong == 0 else f"; {wrong} of {pairs} pairs {'is' if wrong == 1 else 'are'} swapped"
