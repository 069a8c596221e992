"""Blind rounds: balanced, by lot, gone on with, judged at the right counts; the long figures are in `tests.long`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from scipy.stats import binom

from tests.long.rounds import (
    Ears,
    Share,
    count_favourites,
    count_no_favourite,
    expect_answers,
    expect_favourite,
    expect_no_favourite,
)
from trainer.decisions.round_verdicts import confirm, find_next, judge_apart, judge_preference
from trainer.decisions.round_words import describe_confirmation, describe_round, head_round
from trainer.decisions.rounds import Kind, Round, count_asked
from trainer.errors import BadValue
from trainer.listening.preference import HIDDEN_REPEATS

NAMES = ("mix 3.wav", "mix 4.wav", "loud.wav", "soft.wav")
STRETCHES = ((10.0, 18.0), (60.0, 68.0))


def begin(
    kind: Kind, versions: int = 2, seed: int = 1, stretches: int = 2, day: int = 1, setup: str = "phones"
) -> Round:
    """Begin a round between the first two of some versions."""
    hashes = tuple("abcd"[:versions])
    names = NAMES[:versions]
    return Round("r", "", day, setup, kind, hashes, names, (0, 1), STRETCHES[:stretches], seed)


def pick(held: Round, times: int, quiet: int | None = None) -> Round:
    """Pick the pair's first so many times, of these so many on the quiet stretch; the other one else."""
    left = [times - (quiet or 0), quiet or 0] if quiet is not None else [times, times]
    answers, taken = [], 0
    for asked in held.asked:
        first = left[asked.stretch] > 0 and taken < times
        left[asked.stretch] -= first
        taken += first
        answers.append("1" if (asked.sounds[0] == held.pair[0]) == first else "2")
    return replace(held, answers=tuple(answers))


def tell(held: Round, times: int) -> Round:
    """Tell X rightly so many times, and wrongly after that."""
    right = [asked.right_answer for asked in held.asked]
    return replace(held, answers=tuple(one if n < times else "21"[int(one) - 1] for n, one in enumerate(right)))


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("stretches", [1, 2])
def test_picks_are_balanced(seed: int, stretches: int) -> None:
    """By construction: 12 picks, each of the pair six times on the left, on each of two stretches three times."""
    asked = begin("prefer", seed=seed, stretches=stretches).asked
    assert len(asked) == 12 and {tuple(sorted(one.sounds)) for one in asked} == {(0, 1)}
    left = Counter((one.stretch, one.sounds[0]) for one in asked)
    assert left == {(place, side): 6 // stretches for place in range(stretches) for side in (0, 1)}


def test_x_is_by_lot() -> None:
    """Outside: of 400 rounds X is the first one in half, and each count of it as often as the binomial says (χ²)."""
    rounds = [begin("apart", seed=seed).asked for seed in range(400)]
    assert all(len(asked) == 16 for asked in rounds)
    assert all(one.sounds[2] == one.sounds[int(one.right_answer) - 1] for asked in rounds for one in asked)
    counts = np.array([sum(one.right_answer == "1" for one in asked) for asked in rounds])
    assert abs(counts.mean() - 8) < 4 * np.sqrt(4 / 400)
    assert counts.var() == pytest.approx(16 / 4, rel=0.3)
    assert {asked[0].sounds[0] for asked in rounds} == {0, 1}
    assert all(len({one.sounds[:2] for one in asked}) == 1 for asked in rounds)


@pytest.mark.parametrize("versions", [3, 4])
def test_all_pairs_with_hidden_repeats_whose_sides_are_swapped(versions: int) -> None:
    """By construction: every two once, five repeats, swapped, never right behind the same two."""
    for seed in range(20):
        asked = begin("all", versions, seed).asked
        first = [one.sounds for one in asked if not one.repeat]
        assert sorted(tuple(sorted(two)) for two in first) == list(combinations(range(versions), 2))
        assert sum(one.repeat for one in asked) == HIDDEN_REPEATS
        for number, one in enumerate(asked):
            before = [other.sounds for other in asked[:number] if set(other.sounds) == set(one.sounds)]
            assert bool(before) == one.repeat
            if one.repeat:
                assert before[-1] == one.sounds[::-1] and set(asked[number - 1].sounds) != set(one.sounds)


def test_a_round_is_gone_on_with_and_ends() -> None:
    """By construction: what was put away asks the same again; no answer is lost, none too many is taken."""
    held = begin("prefer", seed=5)
    wished = pick(held, 12).answers
    for number in range(12):
        assert not held.complete and len(held.answers) == number
        held = replace(held).after(f" {wished[number]} ")
        assert held.asked == begin("prefer", seed=5).asked
    assert held.complete and held.answers == wished and not held.stopped
    with pytest.raises(BadValue, match="all questions"):
        held.after("1")
    with pytest.raises(BadValue, match="1 or 2"):
        begin("apart").after("3")
    assert not begin("sighted").asked and begin("sighted").complete


def test_how_many_are_enough() -> None:
    """Outside: scipy's binomial. 12 of 16 is the least that guessing reaches in 5 % or less; 10 of 12, both ways."""
    needed = next(n for n in range(17) if binom.sf(n - 1, 16, 0.5) <= 0.05)
    both_ways = next(n for n in range(7, 13) if 2 * binom.sf(n - 1, 12, 0.5) <= 0.05)
    assert (needed, both_ways) == (12, 10)
    for times in range(17):
        found = judge_apart(tell(begin("apart"), times))
        assert found.correct == times and found.apart is (times >= needed)
    for times in range(13):
        verdict = judge_preference(pick(begin("prefer"), times))
        assert verdict.counts == (times, 12 - times)
        assert verdict.favourite == (0 if times >= both_ways else 1 if times <= 12 - both_ways else None)


def test_odds_are_those_of_rounds_that_stop() -> None:
    """Outside: every way a coin can go through a round, counted; the odds add up all that end at least as unevenly.

    A favourite's come first, the fewest picks for the other one before more; then rounds that the third pick of the
    one behind ended, the longest first. For X those told with the fewest misses, then those with the most right.
    """
    ends, more = _count_ends(lambda a, b: a + b == 12 or min(a, b) == 3), 0.0
    for behind, ahead in [(n, 12 - n) for n in range(3)] + [(3, n) for n in range(9, 2, -1)]:
        more += ends[behind, ahead] + (ends[ahead, behind] if ahead != behind else 0.0)
        verdict = judge_preference(_answer(begin("prefer"), ahead, behind))
        assert verdict.counts == (ahead, behind) and verdict.odds == pytest.approx(more)
    assert more == pytest.approx(1)
    ends, more = _count_ends(lambda right, missed: right == 12 or missed == 5), 0.0
    for right, missed in [(12, n) for n in range(5)] + [(n, 5) for n in range(11, -1, -1)]:
        more += ends[right, missed]
        found = judge_apart(_answer(begin("apart"), right, missed))
        assert (found.correct, found.asked) == (right, right + missed) and found.odds == pytest.approx(more)
    assert more == pytest.approx(1)


def _count_ends(ended: Callable[[int, int], bool]) -> Counter[tuple[int, int]]:
    """Give the probability of every pair of counts at which a coin's round ends."""
    ends: Counter[tuple[int, int]] = Counter()
    under_way = {(0, 0): 1.0}
    while under_way:
        following: Counter[tuple[int, int]] = Counter()
        for (a, b), share in under_way.items():
            for after in ((a + 1, b), (a, b + 1)):
                (ends if ended(*after) else following)[after] += share / 2  # type: ignore[assignment]
        under_way = dict(following)
    return ends


def _answer(held: Round, first: int, other: int) -> Round:
    """Answer a round with so many for the pair's first, or right ones, and so many others after them."""
    ones, others = _split(held)
    return replace(held, answers=(*ones[:first], *others[first : first + other]))


@pytest.mark.parametrize(("kind", "chance"), [("prefer", 0.5), ("prefer", 0.85), ("apart", 0.5), ("apart", 0.9)])
def test_a_round_that_is_decided_is_stopped_and_its_verdict_stands(kind: Kind, chance: float) -> None:
    """By construction: all answers asked for give the same verdict. Outside: how many are asked, by the binomial.

    Picks stop at the third for the one behind, and only after six; X at the twelfth right or the fifth wrong one.
    The number of answers goes on past n with P(fewer than so many of each in n), whose sum is its mean.
    """
    rng, lengths = np.random.default_rng(11), []
    for _ in range(600):
        held = begin(kind, seed=int(rng.integers(2**31)))
        whole = replace(held, answers=tuple(np.where(rng.random(len(held.asked)) < chance, *_split(held)).tolist()))
        stopped = held
        for answer in whole.answers:
            stopped = stopped if stopped.complete else stopped.after(answer)
        lengths.append(len(stopped.answers))
        assert stopped.complete and stopped.stopped == (lengths[-1] < len(held.asked))
        if kind == "apart":
            assert judge_apart(stopped).apart == judge_apart(whole).apart
        else:
            assert judge_preference(stopped).favourite == judge_preference(whole).favourite
    expected = expect_answers(kind, chance)
    assert np.mean(lengths) == pytest.approx(expected, abs=4 * np.std(lengths) / np.sqrt(600))


def _split(held: Round) -> tuple[list[str], list[str]]:
    """Give the answers for the pair's first, or the right ones, and the others."""
    first = [asked.right_answer or str(asked.sounds.index(held.pair[0]) + 1) for asked in held.asked]
    return first, ["21"[int(one) - 1] for one in first]


def test_a_stopped_round_says_that_it_was_stopped() -> None:
    """By construction: three to three after six; five wrong after five; no stretch that was not heard is told."""
    picks = replace(begin("prefer"), answers=("1",) * 6)
    assert picks.stopped and head_round(picks) == "No clear favourite."
    lines = describe_round(picks)
    assert lines[-1] == "Stopped after 6 of 12: neither could reach the 10 that make a favourite."
    assert "stretch" not in " ".join(lines)
    missed = replace(begin("apart"), answers=tell(begin("apart"), 0).answers[:5])
    assert missed.stopped and "Stopped after 5 of 16: 12 could no longer be reached." in describe_round(missed)
    told = replace(begin("apart"), answers=tell(begin("apart"), 12).answers[:12])
    assert told.stopped and describe_round(told)[0].startswith("12 of 12 right.") and judge_apart(told).apart
    with pytest.raises(BadValue, match="all questions"):
        told.after("1")


def test_what_a_sitting_asks() -> None:
    """By construction: undecided, told, undecided is not settled; not told ends it; a favourite ends it."""
    two, undecided, told = ("a", "b"), pick(begin("prefer"), 7), tell(begin("apart"), 12)
    steps = [find_next(rounds, two) for rounds in ((), (undecided,), (undecided, told), (undecided, told, undecided))]
    assert steps == ["prefer", "apart", "again", "not_settled"]
    assert find_next((undecided, tell(begin("apart"), 11)), two) == "not_apart"
    assert find_next((undecided, told, pick(begin("prefer"), 2)), two) == "favourite"
    assert find_next((), ("a", "b", "c")) == "all"
    assert find_next((replace(undecided, answers=("1",)),), two) == "prefer"


def test_how_far_a_favourite_is_confirmed() -> None:
    """By construction: once; on another day and set-up and on both stretches; and against it."""
    first = pick(begin("prefer"), 10, quiet=4)
    found = confirm((first,), "a")
    assert (found.rounds, found.days, found.setups, found.against) == (1, 1, ("phones",), 0)
    assert found.quiet_and_loud
    lines = describe_confirmation(found, "mix 3.wav")
    assert lines[0] == "mix 3.wav was preferred once, on one day, on phones, on the first and the quiet stretch."
    assert lines[1] == "Not yet asked, or not yet so: on another day, on another set-up."
    again = pick(begin("prefer", day=2, setup="monitors"), 11)
    far = describe_confirmation(confirm((first, again), "a"), "mix 3.wav")
    where = "on phones and monitors, on the first and the quiet stretch."
    assert far == (f"mix 3.wav was preferred in two rounds, on two days, {where}",)
    against = describe_confirmation(confirm((first, pick(begin("prefer"), 1)), "a"), "mix 3.wav")
    assert against[1] == "But one round went the other way: that is not settled."
    assert not confirm((pick(begin("prefer"), 10, quiet=6), first), "b").rounds
    assert not describe_confirmation(confirm((), "a"), "mix 3.wav")


def test_rounds_in_words() -> None:
    """By construction, with scipy's binomial for the odds; nothing is said beyond the counts."""
    told, missed = tell(begin("apart"), 13), tell(begin("apart"), 9)
    assert head_round(told) == "Told apart." and head_round(missed) == "Not told apart."
    assert f"{binom.sf(12, 16, 0.5):.3f}" in describe_round(told)[0]
    assert "It does not show that nobody can." in describe_round(missed)
    won = pick(begin("prefer"), 10)
    assert head_round(won) == "A favourite: mix 3.wav." and f"{2 * binom.sf(9, 12, 0.5):.3f}" in describe_round(won)[0]
    assert head_round(pick(begin("prefer"), 9)) == "No clear favourite."


def test_simulated_sittings_come_out_as_the_closed_forms_say() -> None:
    """Outside: scipy's binomial for a whole sitting; three versions end as two do, between the two that lead."""
    rng = np.random.default_rng(7)
    for count, runs in ((2, 200), (3, 20)):
        assert count_no_favourite(Ears().answer, count, runs, rng).agrees(expect_no_favourite())
        _, met, of_these, _ = count_favourites(count, runs, rng)
        assert of_these.agrees(expect_favourite()) and (count > 2 or met == Share(runs, runs))
    assert expect_no_favourite() > 0.95 and expect_favourite() > 0.90


@pytest.mark.parametrize("versions", range(2, 9))
def test_questions_are_counted_before_a_round_is_begun(versions: int) -> None:
    """As many as the round then asks: 12, 16, or every pair (n over two) and five repeats."""
    names = tuple(str(number) for number in range(versions))
    kinds: tuple[Kind, ...] = ("prefer", "apart") if versions == 2 else ("prefer", "apart", "all")
    for kind in kinds:
        held = Round("r", "", 1, "headphones", kind, names, names, (0, 1), ((0.0, 8.0),), 3)
        assert count_asked(kind, versions) == len(held.asked)
    if versions > 4:
        four = Round("r", "", 1, "headphones", "leaders", names, names, (0, 1), ((0.0, 8.0),), 3, (), (0, 1, 2, 3))
        assert count_asked("leaders", versions) == len(four.asked) == 6
