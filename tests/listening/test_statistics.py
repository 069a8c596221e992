"""Odds of scores."""

from __future__ import annotations

from math import comb

import pytest
from scipy.stats import binomtest

from trainer.errors import BadValue
from trainer.listening.statistics import correct_needed, odds_one_sided, odds_two_sided


@pytest.mark.parametrize(
    ("correct", "trials", "printed"),
    [(5, 5, 0.0313), (7, 8, 0.0352), (9, 10, 0.0107), (10, 12, 0.0193), (12, 16, 0.0384)],
)
def test_agrees_with_the_printed_odds_of_a_fair_coin(correct: int, trials: int, printed: float) -> None:
    """Upper tails from tables of the binomial distribution, four digits; from memory."""
    assert odds_one_sided(correct, trials) == pytest.approx(printed, abs=0.000051)
    assert odds_two_sided(correct, trials) == pytest.approx(2 * printed, abs=0.000102)


@pytest.mark.parametrize(("trials", "needed"), [(8, 7), (10, 9), (12, 10), (16, 12), (20, 15), (25, 18), (30, 20)])
def test_needs_what_the_paired_test_tables_say(trials: int, needed: int) -> None:
    """ISO 5495 (paired comparison, one-sided), minimum of right answers at 0.05; from memory."""
    assert correct_needed(trials) == needed


@pytest.mark.parametrize(
    ("trials", "needed"),
    [(6, 5), (7, 5), (8, 6), (10, 7), (12, 8), (15, 9), (16, 9), (18, 10), (20, 11), (24, 13), (30, 15)],
)
def test_needs_what_the_triangle_test_tables_say(trials: int, needed: int) -> None:
    """ISO 4120 (triangle test), minimum of right answers at 0.05; from memory."""
    assert correct_needed(trials, chance=1 / 3) == needed


@pytest.mark.parametrize("trials", [1, 7, 12, 16, 40])
def test_agrees_with_exact_tests(trials: int) -> None:
    """scipy.stats.binomtest and sums of binomial coefficients."""
    for correct in range(trials + 1):
        tail = sum(comb(trials, k) for k in range(correct, trials + 1)) / 2**trials
        assert odds_one_sided(correct, trials) == pytest.approx(tail, abs=1e-12)
        assert odds_two_sided(correct, trials) == pytest.approx(binomtest(correct, trials).pvalue, abs=1e-12)
        three = binomtest(correct, trials, 1 / 3, alternative="greater").pvalue
        assert odds_one_sided(correct, trials, 1 / 3) == pytest.approx(three, abs=1e-12)


def test_some_tests_are_too_short_to_prove_anything() -> None:
    """Four of four by guessing has odds of 1 in 16; five of five 1 in 32."""
    assert correct_needed(4) is None
    assert correct_needed(5) == 5


def test_refuses_impossible_counts() -> None:
    """More right answers than questions, no questions, no chance."""
    with pytest.raises(BadValue, match="correct=13, expected 0 to 12"):
        odds_two_sided(13, 12)
    with pytest.raises(BadValue, match="correct=-1"):
        odds_one_sided(-1, 12)
    with pytest.raises(BadValue, match="trials=0"):
        correct_needed(0)
    with pytest.raises(BadValue, match="chance=1"):
        correct_needed(10, chance=1.0)
