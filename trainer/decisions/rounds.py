"""Blind rounds between versions that are equally loud: what is asked is fixed before the first answer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from math import comb
from typing import Literal

import numpy as np

from trainer.errors import BadValue
from trainer.listening.preference import (
    FEWEST,
    HIDDEN_REPEATS,
    MOST,
    PICKS,
    PICKS_NEEDED,
    Choice,
    Pair,
    draw_round,
)

Kind = Literal["prefer", "apart", "all", "sighted", "leaders"]
KINDS = ("prefer", "apart", "all", "sighted", "leaders")
LEADERS = 4
# 12 of 16 is the least that guessing reaches in 5 % of rounds or fewer.
PICKS_APART, APART_NEEDED = 16, 12
ANSWERS = ("1", "2")


@dataclass(frozen=True)
class Asked:
    """One question of a round.

    Parameters
    ----------
    sounds : tuple of int
        Which version each number plays, from 1 on: two, or a third that is X.
    stretch : int
        Which of the round's stretches it is asked on.
    right_answer : str
        ``1`` or ``2`` where X is one of them; empty where no answer is right.
    repeat : bool
        A hidden repeat, its sides swapped.
    """

    sounds: tuple[int, ...]
    stretch: int = 0
    right_answer: str = ""
    repeat: bool = False


@dataclass(frozen=True)
class Round:
    """Hold a round as it is kept: questions follow from what it was begun with, and are never drawn again.

    Parameters
    ----------
    round : str
        Its identifier.
    begun_at : str
        Time with its zone, ISO 8601.
    day : int
        Ordinal of the local calendar day.
    setup : str
        Listening set-up.
    kind : str
        ``prefer`` (12 picks between two), ``apart`` (16 times: which one is X), ``all`` (every pair of three to eight,
        with hidden repeats), ``leaders`` (the four that lead of five and more, every pair once more), ``sighted``
        (listened with the names shown; nothing is asked).
    versions : tuple of str
        Hash of each version's sound or file, so that it is known again.
    names : tuple of str
        What they are called.
    pair : tuple of int
        Which two are compared; for ``all``, ``leaders`` and ``sighted`` not used.
    stretches : tuple of (float, float)
        Where in the song it was heard, s: the loud one, then a quiet one if there is any.
    seed : int
        Decides the order and the sides.
    answers : tuple of str
        Given so far, ``1`` or ``2``.
    among : tuple of int
        Of ``leaders`` the four versions that meet; else empty.
    taken_back : tuple of (int, str)
        Answers that were taken back before the next one was given: to which question, from 0, and what it was.
    """

    round: str
    begun_at: str
    day: int
    setup: str
    kind: Kind
    versions: tuple[str, ...]
    names: tuple[str, ...]
    pair: tuple[int, int]
    stretches: tuple[tuple[float, float], ...]
    seed: int
    answers: tuple[str, ...] = ()
    among: tuple[int, ...] = ()
    taken_back: tuple[tuple[int, str], ...] = ()

    def __post_init__(self) -> None:
        count = len(self.versions)
        if self.kind not in KINDS:
            raise BadValue("round", "kind", self.kind, f"one of {', '.join(KINDS)}")
        if not FEWEST <= count <= MOST or len(self.names) != count:
            raise BadValue("round", "versions", count, f"{FEWEST} to {MOST}, each with a name")
        if len(set(self.pair)) != 2 or not all(0 <= each < count for each in self.pair):
            raise BadValue("round", "pair", self.pair, f"two different versions of 0 to {count - 1}")
        wanted = LEADERS if self.kind == "leaders" else 0
        if len(set(self.among)) != wanted or not all(0 <= each < count for each in self.among):
            raise BadValue("round", "among", self.among, f"{wanted} different versions of 0 to {count - 1}")
        if not self.stretches:
            raise BadValue("round", "stretches", "none", "at least one")
        if any(answer not in ANSWERS for answer in self.answers) or len(self.answers) > len(self.asked):
            raise BadValue("round", "answers", " ".join(self.answers), f"at most {len(self.asked)} of 1 and 2")
        if any(answer not in ANSWERS or not 0 <= n < len(self.asked) for n, answer in self.taken_back):
            raise BadValue("round", "taken_back", self.taken_back, "questions of this round, each with 1 or 2")

    @cached_property
    def asked(self) -> tuple[Asked, ...]:
        """Its questions, in order."""
        rng = np.random.default_rng([self.seed, KINDS.index(self.kind)])
        if self.kind == "apart":
            return _ask_apart(self.pair, rng)
        if self.kind == "all":
            return tuple(Asked((p.left, p.right), 0, "", p.repeat) for p in draw_round(len(self.versions), rng))
        if self.kind == "leaders":
            return _ask_leaders(self.among, rng)
        return _ask_preference(self.pair, len(self.stretches), rng) if self.kind == "prefer" else ()

    @property
    def complete(self) -> bool:
        """Tell whether all its questions are answered, or the answers to come can change nothing."""
        return len(self.answers) == len(self.asked) or self.decided

    @property
    def decided(self) -> bool:
        """Tell whether its verdict stands, whatever the answers to come: no favourite can be had, or X is settled.

        Stopping there leaves every verdict, and so every probability of one, as it is when all are answered. A
        favourite's round is asked to its end: both its stretches say how far it is confirmed.
        """
        if self.kind == "prefer":
            return min(self.count_picks(version) for version in self.pair) > PICKS - PICKS_NEEDED
        missed = len(self.answers) - self.correct
        return self.kind == "apart" and (self.correct >= APART_NEEDED or missed > PICKS_APART - APART_NEEDED)

    @property
    def stopped(self) -> bool:
        """Tell whether it was decided before all its questions were asked."""
        return self.complete and len(self.answers) < len(self.asked)

    @property
    def correct(self) -> int:
        """How many answers were right."""
        return sum(answer == asked.right_answer for answer, asked in zip(self.answers, self.asked, strict=False))

    @property
    def choices(self) -> tuple[Choice, ...]:
        """The picks, as versions."""
        found = []
        for answer, asked in zip(self.answers, self.asked, strict=False):
            left, right = asked.sounds[:2]
            found.append(Choice(Pair(left, right, asked.repeat), left if answer == "1" else right))
        return tuple(found)

    def count_picks(self, version: int, stretch: int | None = None) -> int:
        """Count how often a version was picked, on one stretch or on all."""
        placed = zip(self.choices, self.asked, strict=False)
        return sum(choice.picked == version and stretch in (None, asked.stretch) for choice, asked in placed)

    def after(self, answer: str) -> Round:
        """Give the round with one more answer.

        Raises
        ------
        BadValue
            If it is none of those that are offered, or the round is complete.
        """
        if self.complete:
            raise BadValue("round", "answer", answer, "none; all questions of this round are answered")
        if answer.strip() not in ANSWERS:
            raise BadValue("answer", "answer", answer.strip() or "nothing", "1 or 2")
        return replace(self, answers=(*self.answers, answer.strip()))

    def before_last(self) -> Round:
        """Give the round with its last answer taken back: the same question is open again, and that it was is kept.

        Raises
        ------
        BadValue
            If there is none, or the round is complete: then its verdict has been shown.
        """
        if self.complete or not self.answers:
            raise BadValue("round", "answers", len(self.answers), "an open round with an answer that can be taken back")
        taken = (len(self.answers) - 1, self.answers[-1])
        return replace(self, answers=self.answers[:-1], taken_back=(*self.taken_back, taken))


def count_asked(kind: Kind, versions: int) -> int:
    """Count the questions of a round before it is begun: at most so many, as it may be decided sooner."""
    fixed = {"prefer": PICKS, "apart": PICKS_APART, "leaders": comb(LEADERS, 2), "sighted": 0}
    return fixed[kind] if kind in fixed else comb(versions, 2) + HIDDEN_REPEATS


def _ask_apart(pair: tuple[int, int], rng: np.random.Generator) -> tuple[Asked, ...]:
    """Keep both in their places, put in an order by lot; X by a lot of its own each time."""
    first, second = (pair[int(place)] for place in rng.permutation(2))
    lots = rng.integers(2, size=PICKS_APART)
    return tuple(Asked((first, second, (first, second)[lot]), 0, str(lot + 1)) for lot in lots)


def _ask_leaders(among: tuple[int, ...], rng: np.random.Generator) -> tuple[Asked, ...]:
    """Let every two of a few meet once, in an order and on sides by lot."""
    pairs = [pair if rng.random() < 0.5 else pair[::-1] for pair in combinations(among, 2)]
    return tuple(Asked(pairs[place]) for place in rng.permutation(len(pairs)))


def _ask_preference(pair: tuple[int, int], stretches: int, rng: np.random.Generator) -> tuple[Asked, ...]:
    """Put each on either side as often, on every stretch alike."""
    each = PICKS // stretches
    asked: list[Asked] = []
    for stretch in range(stretches):
        for side in rng.permutation(np.arange(each) % 2):
            left = int(side)
            asked.append(Asked((pair[left], pair[1 - left]), stretch))
    return tuple(asked)
