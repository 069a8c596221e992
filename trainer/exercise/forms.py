"""Forms of question: how versions are laid out, what may be answered, and how an answer is judged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from trainer.errors import BadValue


class Form(Protocol):
    """A form of question."""

    @property
    def name(self) -> str:
        """Its name."""
        ...

    @property
    def title(self) -> str:
        """Its title, for a person."""
        ...

    @property
    def task(self) -> str:
        """The listening task that links its answers to a threshold."""
        ...

    def arrange(self, rng: np.random.Generator) -> tuple[bool, ...]:
        """Lay out the versions: for each whether it is processed."""
        ...

    def list_answers(self, arrangement: tuple[bool, ...]) -> tuple[str, ...]:
        """List the possible answers; they do not depend on where the processed one lies."""
        ...

    def find_right(self, arrangement: tuple[bool, ...]) -> str:
        """Find the right answer."""
        ...

    def read_answer(self, text: str, answers: tuple[str, ...]) -> str:
        """Read what a person typed.

        Raises
        ------
        BadValue
            If it is no possible answer.
        """
        ...


@dataclass(frozen=True)
class PickOfThree:
    """Three versions, one processed; the target is named by its sound and has to be picked.

    Its chance of a right answer by guessing is one in three.
    """

    name: str = "pick_of_three"
    title: str = "Pick the one of three"
    task: str = "pick_of_three"

    def arrange(self, rng: np.random.Generator) -> tuple[bool, ...]:
        """Put the processed version in one of three places, each as likely."""
        place = int(rng.integers(3))
        return tuple(number == place for number in range(3))

    def list_answers(self, arrangement: tuple[bool, ...]) -> tuple[str, ...]:
        """List 1, 2, 3."""
        return tuple(str(number + 1) for number in range(len(arrangement)))

    def find_right(self, arrangement: tuple[bool, ...]) -> str:
        """Find the processed version's number."""
        return str(arrangement.index(True) + 1)

    def read_answer(self, text: str, answers: tuple[str, ...]) -> str:
        """Read a version's number."""
        answer = text.strip()
        if answer not in answers:
            raise BadValue("answer", "version", text or "nothing", f"one of {', '.join(answers)}")
        return answer


FORMS: dict[str, Form] = {form.name: form for form in (PickOfThree(),)}
