"""Preference among versions."""

from __future__ import annotations

from collections import Counter
from math import exp, log

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize
from scipy.stats import binom

from trainer.errors import BadValue
from trainer.listening.preference import (
    Choice,
    Pair,
    count_wins,
    draw_round,
    estimate_strengths,
    judge_rounds,
    judge_versions,
)

FLAT = 1000.0


def _rng(seed: int = 5) -> np.random.Generator:
    return np.random.default_rng(seed)


def _simulate(logs: np.ndarray, rounds: int, rng: np.random.Generator) -> np.ndarray:
    """Let a judge of known strengths answer whole round robins, without the module's own schedule."""
    size = len(logs)
    wins = np.zeros((size, size))
    for a in range(size):
        for b in range(a + 1, size):
            wins[a, b] = rng.binomial(rounds, 1.0 / (1.0 + np.exp(logs[b] - logs[a])))
            wins[b, a] = rounds - wins[a, b]
    return wins


@pytest.mark.parametrize(("a", "b"), [(3, 1), (7, 5), (2.5, 9.5), (40, 2)])
def test_two_versions_share_as_their_wins(a: float, b: float) -> None:
    """Bradley and Terry (1952): the maximum-likelihood share of two treatments is their share of wins."""
    first, second = estimate_strengths([[0, a], [b, 0]], _rng(), FLAT).log_strengths
    assert exp(first - second) == pytest.approx(a / b, rel=1e-3)


def test_three_versions_worked_by_hand() -> None:
    """Strengths 4:2:1 give exact expected counts (of 6, 10, 6 meetings: 4–2, 8–2, 4–2), where the likelihood peaks."""
    wins = [[0, 4, 8], [2, 0, 4], [2, 2, 0]]
    found = estimate_strengths(wins, _rng(), FLAT)
    assert np.diff(found.log_strengths) == pytest.approx([-log(2), -log(2)], abs=1e-4)
    assert found.order == (0, 1, 2)


@pytest.mark.parametrize("size", [2, 4, 6, 8])
def test_agrees_with_a_general_maximiser(size: int) -> None:
    """The log posterior written out pair by pair and climbed by scipy's BFGS without a given slope."""
    wins = _rng(size).integers(0, 5, (size, size)) * 0.5
    np.fill_diagonal(wins, 0.0)

    def loss(logs: np.ndarray) -> float:
        pairs = [(a, b) for a in range(size) for b in range(size) if a != b]
        against = sum(float(wins[a, b]) * log(1 + exp(logs[b] - logs[a])) for a, b in pairs)
        return against + float(logs @ logs) / (2 * 1.5**2)

    peak = minimize(loss, np.zeros(size), method="BFGS").x
    assert estimate_strengths(wins, _rng(), 1.5).log_strengths == pytest.approx(peak - peak.mean(), abs=1e-3)


@pytest.mark.parametrize(("a", "b"), [(3, 1), (8, 4), (10, 2), (12, 0), (0, 0)])
def test_best_of_two_agrees_with_the_exact_posterior(a: int, b: int) -> None:
    """Integrate likelihood times prior (difference normal, √2 × 1.5) over the difference; the normal form is near."""

    def density(gap: float) -> float:
        return (1 + exp(-gap)) ** -a * (1 + exp(gap)) ** -b * exp(-(gap**2) / (4 * 1.5**2))

    above, below = quad(density, 0, 30)[0], quad(density, -30, 0)[0]
    found = estimate_strengths([[0, a], [b, 0]], _rng(), 1.5)
    assert found.best[0] == pytest.approx(above / (above + below), abs=0.025)
    assert sum(found.best) == pytest.approx(1.0)


def test_all_wins_stay_finite_and_the_same_seed_repeats() -> None:
    """A likelihood alone would run to infinity; the prior's bound is loose: within six spreads."""
    wins = np.triu(np.full((8, 8), 20.0), 1)
    found = estimate_strengths(wins, _rng())
    assert np.max(np.abs(found.log_strengths)) < 9.0
    assert found.order == tuple(range(8))
    assert found == estimate_strengths(wins, _rng())


@pytest.mark.parametrize(("met", "named"), [(2, None), (3, 0)])
def test_leaders_must_have_met_three_times(met: int, named: int | None) -> None:
    """The first always beats the third and fourth, hence leads; only the count with the second differs."""
    wins = [[0, met, 20, 20], [0, 0, 10, 10], [0, 10, 0, 10], [0, 10, 10, 0]]
    # The second is lifted just above the others so that it is the runner-up.
    wins[1][2] = wins[1][3] = 11
    verdict = judge_versions(wins, _rng())
    assert verdict.leaders == (0, 1) and verdict.judged == met
    assert verdict.strengths.best[0] >= 0.9
    assert verdict.favourite == named


def test_ties_only_name_nobody() -> None:
    """By symmetry all strengths are 0 and all four equally likely best."""
    verdict = judge_versions(10.0 * (1 - np.eye(4)), _rng())
    assert verdict.favourite is None
    assert verdict.strengths.log_strengths == pytest.approx([0.0] * 4)
    assert verdict.strengths.best == pytest.approx([0.25] * 4, abs=0.03)


def test_finds_a_known_best_and_its_strengths() -> None:
    """Judges with known strengths, neighbours 70:30 (0.847 apart), ten rounds of six versions."""
    truth = 0.847 * np.arange(2.5, -3.0, -1.0)
    fits = [estimate_strengths(_simulate(truth, 10, _rng(seed)), _rng()) for seed in range(40)]
    assert np.mean([fit.log_strengths for fit in fits], axis=0) == pytest.approx(truth, abs=0.3)
    assert sum(fit.order[0] == 0 for fit in fits) >= 34


def _name_equals(rng: np.random.Generator) -> bool:
    """Ask six equal versions three rounds, looking after every pick; say whether anyone was ever named."""
    wins = _simulate(np.zeros(6), 2, rng)  # two rounds cannot name anyone: the leaders have met twice
    for pair in draw_round(6, rng):
        picked = (pair.left, pair.right) if rng.random() < 0.5 else (pair.right, pair.left)
        wins[picked] += 1.0
        if judge_versions(wins, rng).favourite is not None:
            return True
    return False


def test_equal_versions_seldom_have_a_favourite() -> None:
    """Six equal versions, 45 pairs, judged as they come: an independent simulation of the rule gave about 2 %."""
    rng = _rng(11)
    assert sum(_name_equals(rng) for _ in range(200)) <= 12


@pytest.mark.parametrize(
    ("picks", "kept", "another"),
    [
        ((10,), 0, False),
        ((9,), None, True),
        ((2,), 1, False),
        ((3,), None, True),
        ((9, 10), 0, False),
        ((6, 9), None, False),
    ],
)
def test_ten_of_twelve_decides(picks: tuple[int, ...], kept: int | None, another: bool) -> None:
    """The odds come from the binomial tails, added both ways; two rounds give two chances."""
    verdict = judge_rounds(picks)
    extreme = max(picks[-1], 12 - picks[-1])
    tails = sum(binom.pmf(k, 12, 0.5) for k in range(13) if max(k, 12 - k) >= extreme)
    assert (verdict.kept, verdict.another) == (kept, another)
    assert verdict.odds == pytest.approx(tails)
    assert 1 - verdict.odds_overall == pytest.approx((1 - tails) ** len(picks))


@pytest.mark.parametrize("picks", [(), (13,), (-1,), (6, 6, 6), (10, 6)])
def test_refuses_impossible_rounds(picks: tuple[int, ...]) -> None:
    with pytest.raises(BadValue, match="picks_of_first"):
        judge_rounds(picks)


@pytest.mark.parametrize("versions", [3, 4, 5, 6, 8])
def test_a_round_asks_every_pair_once_and_hides_swapped_repeats(versions: int) -> None:
    """Counts of combinations (3, 6, 10, 15, 28), and five repeats."""
    for seed in range(30):
        asked = draw_round(versions, _rng(seed))
        fresh = [frozenset((p.left, p.right)) for p in asked if not p.repeat]
        assert len(fresh) == len(set(fresh)) == versions * (versions - 1) // 2
        assert len(asked) - len(fresh) == 5
        last: dict[frozenset[int], tuple[int, Pair]] = {}
        for k, pair in enumerate(asked):
            key = frozenset((pair.left, pair.right))
            assert pair.repeat == (key in last)
            if pair.repeat:
                place, twin = last[key]
                assert (pair.left, pair.right) == (twin.right, twin.left) and k - place >= 2
            last[key] = (k, pair)


def test_sides_and_order_are_by_lot() -> None:
    """Each of six pairs on either side and in first place: fair within four standard deviations of 600 rounds."""
    rounds = [[p for p in draw_round(4, _rng(seed)) if not p.repeat] for seed in range(600)]
    lefts = Counter(p.left < p.right for asked in rounds for p in asked)
    firsts = Counter(frozenset((asked[0].left, asked[0].right)) for asked in rounds)
    assert abs(lefts[True] - 1800) < 4 * 30
    assert len(firsts) == 6 and all(abs(n - 100) < 4 * 9.2 for n in firsts.values())


def test_twelve_picks_have_six_on_each_side() -> None:
    asked = draw_round(2, _rng())
    assert Counter(pair.left for pair in asked) == {0: 6, 1: 6}
    assert len({tuple(pair.left for pair in draw_round(2, _rng(seed))) for seed in range(20)}) > 15


def test_counts_wins_and_half_wins() -> None:
    choices = [Choice(Pair(0, 1), 1), Choice(Pair(1, 0, True), 1), Choice(Pair(2, 0), None)]
    assert count_wins(choices, 3).tolist() == [[0, 0, 0.5], [2, 0, 0], [0.5, 0, 0]]


@pytest.mark.parametrize("choice", [Choice(Pair(0, 1), 2), Choice(Pair(0, 3), 0), Choice(Pair(1, 1), 1)])
def test_refuses_a_choice_outside_its_pair(choice: Choice) -> None:
    with pytest.raises(BadValue, match="choice"):
        count_wins([choice], 3)


@pytest.mark.parametrize("spread", [0.0, -1.0, float("nan"), float("inf")])
def test_refuses_a_bad_spread(spread: float) -> None:
    with pytest.raises(BadValue, match="prior_sd"):
        estimate_strengths([[0, 1], [1, 0]], _rng(), spread)


@pytest.mark.parametrize("wins", [[[0]], [[0, 1]], [[1, 1], [0, 0]], [[0, -1], [1, 0]], np.zeros((9, 9))])
def test_refuses_a_bad_matrix(wins: object) -> None:
    with pytest.raises(BadValue):
        estimate_strengths(wins, _rng())  # type: ignore[arg-type]
