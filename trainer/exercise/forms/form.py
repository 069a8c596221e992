"""What every form of question is: how versions are laid out, what may be answered, how an answer is judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, Protocol

import numpy as np

from trainer.dsp.move import Effect
from trainer.exercise.drill import Drill

AnswerKind = Literal["choice", "amount", "order", "marks"]
Placement = Literal["threshold", "fixed", "by_lot"]
Reveals = Literal["each", "last"]


@dataclass(frozen=True)
class Take:
    """Ask for one version: a move at an amount, or the loop as it is.

    Parameters
    ----------
    move : str or None
        The move's name; None for the loop as it is.
    amount : float
        In the drill's unit, signed where the move is; 0 for the loop as it is.
    settings : dict of str to float
        The move's settings that stay fixed.
    reference : bool
        Another song in its place, the one that the mix is set beside, as it is.
    """

    move: str | None = None
    amount: float = 0.0
    settings: dict[str, float] = field(default_factory=dict)
    reference: bool = False

    @property
    def processed(self) -> bool:
        """Whether a move is made."""
        return self.move is not None


AS_IT_IS = Take()
REFERENCE = Take(reference=True)


@dataclass(frozen=True)
class Turn:
    """Say which trial of which run is laid out: its place from 0, and the run's seed."""

    seed: int = 0
    index: int = 0


FIRST = Turn()


@dataclass(frozen=True)
class Layout:
    """Lay a trial out.

    Parameters
    ----------
    takes : tuple of Take
        The versions in the order in which they are numbered.
    labels : tuple of str
        What may be said of each while the question is open; a bare number where nothing may.
    answers : tuple of str
        The answers that are offered; empty where an amount, an order or marks are asked for.
    right_answer : str
        The right one; empty where there is none.
    target : int
        Which of ``takes`` the answer is about, from 0; that one is shown afterwards.
    control : tuple of float
        Values of a control that the person moves; its versions are the last ones of ``takes``.
    control_unit, control_says : str
        Their unit, where it is not the drill's, and the words of the answer, before the value.
    held_back : int
        So many of the last of ``takes`` can be listened to only after the answer.
    names : tuple of str
        What each version is, where the judgement says it.
    """

    takes: tuple[Take, ...]
    labels: tuple[str, ...]
    answers: tuple[str, ...]
    right_answer: str
    target: int
    control: tuple[float, ...] = ()
    control_unit: str = ""
    control_says: str = "Equal at"
    held_back: int = 0
    names: tuple[str, ...] = ()

    @property
    def numbered(self) -> int:
        """How many versions can be listened to by number; a control is one of them, wherever it stands."""
        return len(self.takes) - len(self.control) + bool(self.control) - self.held_back

    @property
    def numbered_after(self) -> int:
        """How many there are once the answer has been given."""
        return self.numbered + self.held_back

    @property
    def begins_at(self) -> int:
        """Where a control stands at first: in the middle."""
        return len(self.control) // 2

    def find_sound(self, version: int, control: int) -> int:
        """Find which of ``takes`` a numbered version is, from 0, with the control at a place."""
        moved = bool(self.control) and version == self.numbered
        return len(self.takes) - len(self.control) + control if moved else version - 1


@dataclass(frozen=True)
class Grade:
    """Judge an answer.

    Parameters
    ----------
    correct : bool or None
        Right or wrong; None where there is no right answer.
    score : float
        0 to 1; 1 is best. For a preference 1 stands for the processed version.
    error : float or None
        Signed distance of an amount or a time from the right one, in its unit.
    words : str
        The judgement in a sentence.
    """

    correct: bool | None
    score: float
    error: float | None
    words: str


class PlainForm:
    """What most forms have in common; a base to build on."""

    @property
    def reveals(self) -> Reveals:
        """Show what was so after each answer."""
        return "each"

    @property
    def stays(self) -> bool:
        """Move on to other places within a run."""
        return False

    @property
    def explains(self) -> bool:
        """Begin with a labelled example."""
        return True

    @property
    def needs_reference(self) -> bool:
        """Ask about one song alone."""
        return False

    def settle(self, layout: Layout, effects: Sequence[Effect | None]) -> Layout:
        """Leave the layout: what is right was known beforehand."""
        return layout


class Form(Protocol):
    """A form of question. All functions are pure."""

    @property
    def name(self) -> str:
        """Its name."""
        ...

    @property
    def title(self) -> str:
        """Its title, for a person."""
        ...

    @property
    def answer_kind(self) -> AnswerKind:
        """What an answer is."""
        ...

    @property
    def placement(self) -> Placement:
        """How the amount of the next trial is found."""
        ...

    @property
    def reveals(self) -> Reveals:
        """Say whether what was so is shown after each answer, or only after the last: for questions of taste."""
        ...

    @property
    def stays(self) -> bool:
        """Tell whether a run keeps to one place of one song, for comparisons that belong together."""
        ...

    @property
    def explains(self) -> bool:
        """Tell whether a labelled example comes first; it would spoil a question of taste."""
        ...

    @property
    def needs_reference(self) -> bool:
        """Tell whether a song must come with a finished one of its style; versions are then made near to that."""
        ...

    def task(self, drill: Drill) -> str | None:
        """Name the link that ties its answers to a threshold; None where there is none."""
        ...

    def lay_out(self, drill: Drill, amount: float, rng: np.random.Generator, turn: Turn = FIRST) -> Layout:
        """Lay a trial out by lot; ``rng`` is the trial's own."""
        ...

    def settle(self, layout: Layout, effects: Sequence[Effect | None]) -> Layout:
        """Put right what depends on what was measured of each take.

        Raises
        ------
        NotReachable
            If this excerpt cannot carry the question.
        """
        ...

    def read_answer(self, text: str, layout: Layout) -> str:
        """Read what a person typed, and write it in one way.

        Raises
        ------
        BadValue
            If it is no possible answer.
        """
        ...

    def grade(self, answer: str, layout: Layout, drill: Drill) -> Grade:
        """Judge an answer that has been read."""
        ...
