"""Consistency of pair choices."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, product

import numpy as np
import pytest

from trainer.errors import BadValue
from trainer.listening.preference import Choice, Pair
from trainer.listening.triads import (
    Repeats,
    count_most_triads,
    count_repeats,
    count_tournaments,
    find_first_choices,
    measure_consistency,
)


def _list_tournaments(versions: int) -> list[np.ndarray]:
    """Return every complete set of choices."""
    pairs = list(combinations(range(versions), 2))
    tables = []
    for sides in product((0, 1), repeat=len(pairs)):
        table = np.zeros((versions, versions), dtype=int)
        for (a, b), side in zip(pairs, sides, strict=True):
            table[(a, b) if side else (b, a)] = 1
        tables.append(table)
    return tables


def _count_cycles(table: np.ndarray) -> int:
    """Count three-cycles from their definition: each shows three times on the diagonal of the cube."""
    return int(np.trace(table @ table @ table)) // 3


@pytest.mark.parametrize("versions", [3, 4, 5])
def test_agrees_with_every_tournament_listed(versions: int) -> None:
    """Three-cycles counted by their definition in every set of choices, not by the scores."""
    tables = _list_tournaments(versions)
    cycles = [_count_cycles(table) for table in tables]
    assert [measure_consistency(table).triads for table in tables] == cycles
    counted = Counter(cycles)
    assert count_tournaments(versions) == tuple(counted[d] for d in range(max(cycles) + 1))
    assert count_most_triads(versions) == max(cycles)


@pytest.mark.parametrize(
    ("versions", "printed"),
    [
        (3, (6, 2)),
        (4, (24, 16, 24)),
        (5, (120, 120, 240, 240, 280, 24)),
        (6, (720, 960, 2240, 2880, 6240, 3648, 8640, 4800, 2640)),
    ],
)
def test_agrees_with_the_printed_distribution(versions: int, printed: tuple[int, ...]) -> None:
    """Kendall and Babington Smith (1940), table of frequencies of circular triads; from memory."""
    assert count_tournaments(versions) == printed


@pytest.mark.parametrize("versions", range(3, 9))
def test_counts_have_the_right_sum_and_mean(versions: int) -> None:
    """Every pair has two outcomes, and a triple is circular in 2 of 8 (closed forms)."""
    counts = count_tournaments(versions)
    triples = versions * (versions - 1) * (versions - 2) // 6
    assert sum(counts) == 2 ** (versions * (versions - 1) // 2)
    assert sum(d * n for d, n in enumerate(counts)) * 4 == triples * sum(counts)
    assert counts[-1] > 0


@pytest.mark.parametrize(("versions", "allowed"), [(3, None), (4, None), (5, None), (6, 0), (7, 3), (8, 7)])
def test_rare_by_chance_only_from_six_versions(versions: int, allowed: int | None) -> None:
    """Most triads that are still significant at 0.05, by an independent simulation of random choices."""
    counts = count_tournaments(versions)
    rare = [d for d in range(len(counts)) if sum(counts[: d + 1]) <= 0.05 * sum(counts)]
    assert (rare[-1] if rare else None) == allowed


def test_zeta_runs_from_order_to_a_ring() -> None:
    """A straight order has none; five in a ring, each over the next two, has the most: 5 (worked by hand)."""
    order = measure_consistency(np.triu(np.ones((6, 6)), 1))
    assert (order.triads, order.most, order.zeta) == (0, 8, 1.0)
    assert order.chance == pytest.approx(720 / 2**15)
    ring = measure_consistency([[int((b - a) % 5 in (1, 2)) for b in range(5)] for a in range(5)])
    assert (ring.triads, ring.zeta, ring.chance) == (5, 0.0, 1.0)


@pytest.mark.parametrize(
    "beats", [[[0, 1], [0, 0]], [[0, 1, 1], [0, 0, 0], [0, 0, 0]], np.full((3, 3), 0.5), np.zeros((3, 2))]
)
def test_refuses_an_incomplete_set(beats: object) -> None:
    with pytest.raises(BadValue, match="triads"):
        measure_consistency(beats)  # type: ignore[arg-type]


@pytest.mark.parametrize(("same", "asked", "expected"), [(3, 5, False), (4, 5, True), (7, 10, True), (4, 4, None)])
def test_seventy_percent_of_repeats_separate(same: int, asked: int, expected: bool | None) -> None:
    """Seven of ten is 70 % exactly and passes; under five repeats nothing is said."""
    repeats = Repeats(same, asked)
    assert repeats.separates is expected
    assert ("do not separate" in repeats.words) == (expected is False)
    assert ("too few" in repeats.words) == (expected is None)


def test_repeats_compare_versions_and_not_sides() -> None:
    """The same version on the other side is alike; the same side is not."""
    choices = [
        Choice(Pair(0, 1), 0),
        Choice(Pair(2, 1), 2),
        Choice(Pair(1, 0, True), 0),
        Choice(Pair(1, 2, True), 1),
        Choice(Pair(0, 1), 1),
        Choice(Pair(0, 2), None),
        Choice(Pair(2, 0, True), None),
    ]
    assert count_repeats(choices) == Repeats(2, 3)


def test_first_choices_leave_repeats_out() -> None:
    choices = [Choice(Pair(0, 1), 0), Choice(Pair(1, 0, True), 1), Choice(Pair(2, 1), 1), Choice(Pair(2, 0), 2)]
    assert find_first_choices(choices, 3) == [[0, 1, 0], [0, 0, 1], [1, 0, 0]]
    assert measure_consistency(find_first_choices(choices, 3)).triads == 1
