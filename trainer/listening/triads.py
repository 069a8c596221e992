"""Consistency of pair choices: circular triads, and hidden repeats."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from trainer.errors import BadValue
from trainer.listening.preference import HIDDEN_REPEATS, MOST, Choice

SAME_NEEDED = 0.70


@dataclass(frozen=True)
class Consistency:
    """Circular triads of a complete set of choices.

    ``zeta`` is 1 for none and 0 for the most there can be; ``chance`` is the probability that coin tosses give as
    few or fewer.
    """

    triads: int
    most: int
    zeta: float
    chance: float


@dataclass(frozen=True)
class Repeats:
    """Hidden repeats: how many were answered as before, of how many."""

    same: int
    asked: int

    @property
    def separates(self) -> bool | None:
        """Say whether the ears separate the versions: 70 % the same or more; None below five repeats."""
        return None if self.asked < HIDDEN_REPEATS else self.same >= SAME_NEEDED * self.asked

    @property
    def words(self) -> str:
        """Describe the outcome in one line."""
        count = f"{self.same} of {self.asked} hidden repeats answered the same"
        if self.separates is None:
            return f"{count}: too few to tell."
        return f"{count}." if self.separates else f"{count}, below 70 %: your ears do not separate these today."


def count_most_triads(versions: int) -> int:
    """Return the most circular triads that can occur.

    Parameters
    ----------
    versions : int, 3 to 8
        Versions compared.

    Returns
    -------
    int
        (n³ − n)/24 for odd n, (n³ − 4n)/24 for even n.

    Raises
    ------
    BadValue
        If the count is out of bounds.

    Notes
    -----
    M. G. Kendall and B. Babington Smith, "On the method of paired comparisons", Biometrika 31 (1940) 324–345.
    """
    if not 3 <= versions <= MOST:
        raise BadValue("triads", "versions", versions, f"3 to {MOST}")
    return (versions**3 - (1 if versions % 2 else 4) * versions) // 24


def measure_consistency(beats: ArrayLike) -> Consistency:
    """Count the circular triads (a over b, b over c, c over a) of one choice per pair.

    Parameters
    ----------
    beats : array_like, shape (n, n), n 3 to 8
        Entry [i, j] is 1 where i was picked over j, else 0; every pair decided once, diagonal 0.

    Returns
    -------
    Consistency
        Count, most, coefficient of consistence and probability by chance. Below six versions even no triad at all is
        not rare enough (5 %) by chance; judge by repeats there.

    Raises
    ------
    BadValue
        If the matrix is not a complete set of choices.

    Notes
    -----
    d = n(n−1)(2n−1)/12 − ½ Σ aᵢ², with aᵢ the picks of version i: Kendall and Babington Smith (1940).
    """
    table = np.asarray(beats, dtype=np.float64)
    if table.ndim != 2 or table.shape[0] != table.shape[1]:
        raise BadValue("triads", "beats", table.shape, "a square matrix")
    most = count_most_triads(len(table))
    if not np.all(np.isin(table, (0.0, 1.0))) or not np.array_equal(table + table.T, 1.0 - np.eye(len(table))):
        raise BadValue("triads", "beats", table.tolist(), "one choice for every pair, no ties")
    triads = _count_triads(tuple(int(score) for score in table.sum(axis=1)))
    spread = count_tournaments(len(table))
    return Consistency(triads, most, 1.0 - triads / most, sum(spread[: triads + 1]) / sum(spread))


@cache
def count_tournaments(versions: int) -> tuple[int, ...]:
    """Count the sets of choices with 0, 1, 2, ... circular triads, exactly.

    Parameters
    ----------
    versions : int, 3 to 8
        Versions compared.

    Returns
    -------
    tuple of int
        Counts by number of triads, 0 to the most; their sum is 2 to the number of pairs.

    Raises
    ------
    BadValue
        If the count is out of bounds.
    """
    most = count_most_triads(versions)
    scores: Counter[tuple[int, ...]] = Counter({(0,): 1})
    for size in range(1, versions):
        # Only the sorted scores matter, so that adding a version to each of few states replaces listing every set.
        grown: Counter[tuple[int, ...]] = Counter()
        for (old, ways), lost in product(scores.items(), product((0, 1), repeat=size)):
            new = (*(score + 1 - loss for score, loss in zip(old, lost, strict=True)), sum(lost))
            grown[tuple(sorted(new))] += ways
        scores = grown
    found: Counter[int] = Counter()
    for score, ways in scores.items():
        found[_count_triads(score)] += ways
    return tuple(found[triads] for triads in range(most + 1))


def find_first_choices(choices: Sequence[Choice], versions: int) -> list[list[int]]:
    """Return the first answer to every pair, as `measure_consistency` takes it.

    Parameters
    ----------
    choices : sequence of Choice
        Answers in the order given; hidden repeats, later rounds and answers without a preference do not count.
    versions : int, 3 to 8
        Versions compared.

    Returns
    -------
    list of list of int, shape (versions, versions)
        Entry [i, j] is 1 where i was picked over j first; an undecided pair has 0 both ways.
    """
    beats = [[0] * versions for _ in range(versions)]
    for choice in choices:
        left, right = choice.pair.left, choice.pair.right
        if choice.picked is not None and not beats[left][right] and not beats[right][left]:
            beats[choice.picked][left + right - choice.picked] = 1
    return beats


def count_repeats(choices: Sequence[Choice]) -> Repeats:
    """Compare every hidden repeat with the answer to the same pair before it.

    Parameters
    ----------
    choices : sequence of Choice
        Answers in the order given.

    Returns
    -------
    Repeats
        Answers alike, of repeats asked; no preference is like no preference only.
    """
    before: dict[frozenset[int], int | None] = {}
    same = asked = 0
    for choice in choices:
        key = frozenset((choice.pair.left, choice.pair.right))
        if choice.pair.repeat and key in before:
            asked += 1
            same += before[key] == choice.picked
        before[key] = choice.picked
    return Repeats(same, asked)


def _count_triads(scores: tuple[int, ...]) -> int:
    """Return the circular triads that a set of scores stands for."""
    size = len(scores)
    return (size * (size - 1) * (2 * size - 1) - 6 * sum(score * score for score in scores)) // 12
