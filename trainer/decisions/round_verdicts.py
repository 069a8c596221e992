"""What rounds tell: told apart or not, a favourite or none, how far that is confirmed, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from trainer.decisions.rounds import APART_NEEDED, LEADERS, PICKS_APART, Round
from trainer.listening.preference import (
    PICKS,
    PICKS_NEEDED,
    ROUNDS_MOST,
    Strengths,
    count_wins,
    estimate_strengths,
    judge_rounds,
)
from trainer.listening.statistics import odds_one_sided, odds_two_sided
from trainer.listening.triads import Repeats, count_repeats

Next = Literal["all", "leaders", "prefer", "apart", "again", "favourite", "not_apart", "not_settled"]


@dataclass(frozen=True)
class ApartVerdict:
    """Judge a test of up to 16: how many right, the probability of as many by guessing, and whether that is enough."""

    correct: int
    asked: int
    odds: float
    needed: int

    @property
    def apart(self) -> bool:
        """Tell whether the two were told apart."""
        return self.correct >= self.needed


@dataclass(frozen=True)
class PreferVerdict:
    """Judge a round of up to 12: picks of each of the pair, two-sided odds, the favourite's index if there is one."""

    counts: tuple[int, int]
    odds: float
    favourite: int | None


@dataclass(frozen=True)
class OrderVerdict:
    """Put three to eight in an order: strengths, wins and meetings of each, and the hidden repeats."""

    strengths: Strengths
    won: tuple[float, ...]
    met: tuple[float, ...]
    repeats: Repeats

    @property
    def leaders(self) -> tuple[int, int]:
        """The two that lead."""
        return self.strengths.order[0], self.strengths.order[1]


@dataclass(frozen=True)
class Confirmation:
    """Say how far a favourite is confirmed.

    Parameters
    ----------
    rounds : int
        Rounds that it won.
    days : int
        On so many days.
    setups : tuple of str
        On these set-ups.
    quiet_and_loud : bool
        Whether it was picked more often on both sections of a round, the loud and the quiet one.
    against : int
        Rounds that the other one won.
    """

    rounds: int
    days: int
    setups: tuple[str, ...]
    quiet_and_loud: bool
    against: int


def judge_apart(held: Round) -> ApartVerdict:
    """Judge a complete round of telling apart; where it was decided sooner, by the answers there are.

    A round that the fifth miss ended went on as long with a probability of at most four misses before it.
    """
    asked, right = len(held.answers), held.correct
    ended_by_miss = asked - right == PICKS_APART - APART_NEEDED + 1
    odds = odds_one_sided(right, asked - 1 if ended_by_miss else asked)
    return ApartVerdict(right, asked, odds, APART_NEEDED)


def judge_preference(held: Round) -> PreferVerdict:
    """Judge a complete round of 12 picks.

    A round that the third pick of the one behind ended went on as long, either way, with twice the probability of
    at most two such picks before it.
    """
    first, second = held.pair
    counts = (held.count_picks(first), held.count_picks(second))
    kept = judge_rounds((counts[0],)).kept
    odds, most = odds_two_sided(counts[0], sum(counts)), PICKS - PICKS_NEEDED
    if min(counts) == most + 1:
        odds = min(1.0, 2 * odds_one_sided(max(counts), max(counts) + most))
    return PreferVerdict(counts, odds, None if kept is None else held.pair[kept])


def judge_order(rounds: tuple[Round, ...]) -> OrderVerdict:
    """Put versions in an order by complete rounds: of all pairs, and of those that led once more."""
    first = rounds[0]
    choices = [choice for held in rounds for choice in held.choices]
    wins = count_wins(choices, len(first.versions))
    strengths = estimate_strengths(wins, np.random.default_rng(first.seed))
    won, met = wins.sum(axis=1), (wins + wins.T).sum(axis=1)
    return OrderVerdict(strengths, tuple(won.tolist()), tuple(met.tolist()), count_repeats(first.choices))


def choose_pair(rounds: Sequence[Round], versions: Sequence[str]) -> tuple[int, int] | None:
    """Choose which two are compared: both, or of three and more the two that lead; None before that is known."""
    if len(versions) == 2:
        return 0, 1
    ordered = list_ordering(rounds)
    enough = len(ordered) == 2 or (ordered and len(versions) <= LEADERS)
    return judge_order(ordered).leaders if enough else None


def choose_leaders(rounds: Sequence[Round]) -> tuple[int, ...]:
    """Choose the four that lead after a complete round of all pairs; empty before that."""
    ordered = list_ordering(rounds)
    return tuple(sorted(judge_order(ordered[:1]).strengths.order[:LEADERS])) if ordered else ()


def list_ordering(rounds: Sequence[Round]) -> tuple[Round, ...]:
    """List the rounds that put versions in an order: the last one of all pairs, and what followed it."""
    kinds = [held.kind for held in rounds if held.complete]
    if "all" not in kinds:
        return ()
    complete = [held for held in rounds if held.complete]
    last = len(kinds) - 1 - kinds[::-1].index("all")
    return (complete[last], *(held for held in complete[last:] if held.kind == "leaders"))[:2]


def find_next(rounds: Sequence[Round], versions: Sequence[str]) -> Next:
    """Say what a sitting asks next.

    First 12 picks; of three and more, all pairs before that, for the two that lead, and of five and more the four
    that lead meet once more, so that the best is rarely missed. Where the picks are undecided,
    telling apart; where that is told, 12 picks more. So one who hears nothing is told so in 95 % of sittings.

    Parameters
    ----------
    rounds : sequence of Round
        Complete ones of this sitting (one day, one set-up), in their order.
    versions : sequence of str
        What is compared.
    """
    pair = choose_pair(rounds, versions)
    if pair is None:
        return "leaders" if list_ordering(rounds) else "all"
    own = [held for held in rounds if held.complete and set(held.pair) == set(pair)]
    picks = [judge_preference(held) for held in own if held.kind == "prefer"]
    if not picks:
        return "prefer"
    if any(verdict.favourite is not None for verdict in picks):
        return "favourite"
    told = [judge_apart(held).apart for held in own if held.kind == "apart"]
    if not told:
        return "apart"
    if not told[-1]:
        return "not_apart"
    return "again" if len(picks) < ROUNDS_MOST else "not_settled"


def confirm(rounds: Sequence[Round], favourite: str) -> Confirmation:
    """Say how far a favourite, named by its hash, is confirmed by all rounds there are."""
    won, lost = [], 0
    for held in rounds:
        if held.kind != "prefer" or not held.complete or favourite not in held.versions:
            continue
        place = held.versions.index(favourite)
        found = judge_preference(held).favourite
        if found == place:
            won.append(held)
        elif found is not None and place in held.pair:
            lost += 1
    both = any(_won_everywhere(held, held.versions.index(favourite)) for held in won)
    setups = tuple(dict.fromkeys(held.setup for held in won))
    return Confirmation(len(won), len({held.day for held in won}), setups, both, lost)


def _won_everywhere(held: Round, version: int) -> bool:
    """Tell whether a version was picked more often than not on each of two stretches."""
    if len(held.stretches) < 2:
        return False
    sums = [sum(asked.stretch == place for asked in held.asked) for place in range(len(held.stretches))]
    return all(2 * held.count_picks(version, place) > total for place, total in enumerate(sums))
