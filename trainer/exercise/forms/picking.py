"""Pick a version: the processed one, the different one, or the one that X is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.errors import BadValue
from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import AS_IT_IS, FIRST, AnswerKind, Grade, Layout, Placement, PlainForm, Take, Turn

# The label of the version that is one of two others.
X = "X"


def take_processed(drill: Drill, amount: float) -> Take:
    """Ask for the drill's own move."""
    return Take(drill.move, amount, drill.settings)


def read_choice(text: str, answers: tuple[str, ...]) -> str:
    """Read one of the offered answers: its word, or its number in the list where the words are no numbers.

    Raises
    ------
    BadValue
        If it is none of them.
    """
    answer = text.strip().lower()
    if answer in answers:
        return answer
    numbered = not any(offered.isdigit() for offered in answers)
    if numbered and answer.isdigit() and 1 <= int(answer) <= len(answers):
        return answers[int(answer) - 1]
    raise BadValue("answer", "answer", text.strip() or "nothing", f"one of {', '.join(answers)}")


def grade_choice(answer: str, layout: Layout, words: str) -> Grade:
    """Judge one of the offered answers."""
    correct = answer == layout.right_answer
    return Grade(correct, float(correct), None, words)


@dataclass(frozen=True)
class Unjudged(PlainForm):
    """What questions without a right answer have in common: one of two is said, and no example comes first."""

    answer_kind: AnswerKind = "choice"
    placement: Placement = "fixed"
    explains: bool = False

    def task(self, drill: Drill) -> str | None:
        """Link: none; no answer is right."""
        return None

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read one of the answers that are offered."""
        return read_choice(text, layout.answers)


@dataclass(frozen=True)
class Pick(PlainForm):
    """Several versions, one processed; the sound that is looked for is named, the version has to be picked."""

    name: str
    title: str
    count: int
    answer_kind: AnswerKind = "choice"
    placement: Placement = "threshold"

    def task(self, drill: Drill) -> str | None:
        """Link: one target among so many."""
        return self.name

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Put the processed version in one of the places, each as likely."""
        place = int(rng.integers(self.count))
        takes = [AS_IT_IS] * self.count
        takes[place] = take_processed(drill, amount)
        numbers = tuple(str(number + 1) for number in range(self.count))
        return Layout(tuple(takes), numbers, numbers, numbers[place], place)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read a version's number."""
        return read_choice(text, layout.answers)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Compare with the processed version's number."""
        return grade_choice(answer, layout, f"It was {layout.right_answer}.")


@dataclass(frozen=True)
class Oddity(PlainForm):
    """Three versions, two of them the same; the different one has to be found, whichever way it differs.

    Harder than naming the target: the same ear needs about twice the amount.
    """

    name: str = "oddity"
    title: str = "Find the different one"
    answer_kind: AnswerKind = "choice"
    placement: Placement = "threshold"

    def task(self, drill: Drill) -> str | None:
        """Link: the triangle."""
        return "oddity"

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Let the odd one be the processed or the unprocessed version, in one of three places."""
        processed = take_processed(drill, amount)
        odd, same = (processed, AS_IT_IS) if rng.integers(2) else (AS_IT_IS, processed)
        place = int(rng.integers(3))
        takes = tuple(odd if number == place else same for number in range(3))
        target = takes.index(processed)
        return Layout(takes, ("1", "2", "3"), ("1", "2", "3"), str(place + 1), target)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read a version's number."""
        return read_choice(text, layout.answers)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Compare with the odd one's number."""
        odd = int(layout.right_answer) - 1
        kind = "the processed one" if layout.takes[odd].processed else "the one as it is"
        same = " and ".join(number for number in layout.answers if number != layout.right_answer)
        return grade_choice(answer, layout, f"{layout.right_answer} was {kind}; {same} were the same.")


@dataclass(frozen=True)
class Abx(PlainForm):
    """Two versions that are known, and a third that is one of them: which?

    For a verdict on one fixed difference; the number of trials is fixed beforehand.
    """

    name: str = "abx"
    title: str = "Which one is X"
    answer_kind: AnswerKind = "choice"
    placement: Placement = "fixed"

    def task(self, drill: Drill) -> str | None:
        """Link: X goes to the nearer one."""
        return "abx"

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Put both versions in an order by lot, and one of them again as the third."""
        pair = [AS_IT_IS, take_processed(drill, amount)]
        if rng.integers(2):
            pair.reverse()
        x = int(rng.integers(2))
        target = 0 if pair[0].processed else 1
        return Layout((pair[0], pair[1], pair[x]), ("1", "2", X), ("1", "2"), str(x + 1), target)

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read the number of the version that X is."""
        return read_choice(text, layout.answers)

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Compare with what X was."""
        return grade_choice(answer, layout, f"X was {layout.right_answer}.")
