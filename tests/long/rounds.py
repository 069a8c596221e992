"""How often a whole sitting of blind rounds tells what is so: ``python -m tests.long rounds``.

Simulated listeners answer as a weighing leads them: of three to eight versions every two first, with five hidden
repeats, of five to eight the four that lead once more, then the two that lead; 12 picks; where these decide nothing,
16 times X; where X is told, 12 picks more. One hears nothing and answers by lot, another always answers "1". A third
has a true preference: one version is picked over each other one with a probability of 0.85, all others are alike to
it, and X is told with 0.97. Beside the simulation stand closed forms by scipy's binomial distribution. Demanded: one
who hears nothing is given no favourite in 95 of 100 sittings; a true favourite is named in 90 of 100; and simulation
and closed form agree.
"""

from __future__ import annotations

import string
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from unittest.mock import patch

import numpy as np
from scipy.stats import binom

from trainer.decisions import round_verdicts
from trainer.decisions.round_verdicts import choose_leaders, choose_pair, find_next, judge_preference
from trainer.decisions.rounds import Asked, Kind, Round
from trainer.listening.preference import FEWEST, MOST
from trainer.session.weigh.rounds import KINDS

SITTINGS = 2000
SEED = 29
PREFERS, TELLS = 0.85, 0.97
NO_FAVOURITE_WANTED, FAVOURITE_WANTED = 0.95, 0.90
STRETCHES = ((10.0, 18.0), (60.0, 68.0))
# Simulation and closed form may be so many standard errors apart.
MOST_ERRORS = 4.0
Answer = Callable[[Asked, np.random.Generator], str]


@dataclass(frozen=True)
class Ears:
    """Answer with a true favourite, by index; None where nothing is heard."""

    favourite: int | None = None

    def answer(self, asked: Asked, rng: np.random.Generator) -> str:
        """Pick one of two, or tell which one X is."""
        first = 0.5
        if self.favourite is not None and asked.right_answer:
            first = TELLS if asked.right_answer == "1" else 1 - TELLS
        elif self.favourite in asked.sounds:
            first = PREFERS if asked.sounds[0] == self.favourite else 1 - PREFERS
        return "1" if rng.random() < first else "2"


def answer_first(asked: Asked, rng: np.random.Generator) -> str:
    """Hear nothing, and always say the same."""
    return "1"


@dataclass(frozen=True)
class Sitting:
    """Hold what a sitting told: its favourite, by index, or None; which two were compared; how much was answered."""

    favourite: int | None
    pair: tuple[int, int]
    answers: int


@dataclass(frozen=True)
class Share:
    """Hold in how many of some sittings something came about."""

    hits: int
    runs: int

    @property
    def value(self) -> float:
        """Give the share."""
        return self.hits / self.runs

    @property
    def error(self) -> float:
        """Give its standard error."""
        return float(np.sqrt(self.value * (1 - self.value) / self.runs))

    def agrees(self, expected: float) -> bool:
        """Tell whether it lies where a closed form says."""
        spread = np.sqrt(expected * (1 - expected) / self.runs)
        return abs(self.value - expected) <= MOST_ERRORS * spread + 1e-12

    def __str__(self) -> str:
        return f"{100 * self.value:5.1f} % (standard error {100 * self.error:.1f})"


def hold_sitting(answer: Answer, count: int, rng: np.random.Generator) -> Sitting:
    """Go through a sitting as a weighing leads it; an order that was found once is not worked out again."""
    with patch.object(round_verdicts, "judge_order", lru_cache(8)(round_verdicts.judge_order)):
        return _hold_sitting(answer, count, rng)


def _hold_sitting(answer: Answer, count: int, rng: np.random.Generator) -> Sitting:
    versions = tuple(string.ascii_lowercase[:count])
    held: list[Round] = []
    while (following := find_next(held, versions)) in KINDS:
        pair = choose_pair(held, versions) or (0, 1)
        among = choose_leaders(held) if following == "leaders" else ()
        held.append(answer_round(begin_round(KINDS[following], versions, pair, rng, among), answer, rng))
    last = next(each for each in reversed(held) if each.kind == "prefer")
    favourite = judge_preference(last).favourite if following == "favourite" else None
    return Sitting(favourite, last.pair, sum(len(each.answers) for each in held))


def begin_round(
    kind: Kind, versions: tuple[str, ...], pair: tuple[int, int], rng: np.random.Generator, among: tuple[int, ...] = ()
) -> Round:
    """Begin a round of today."""
    seed = int(rng.integers(2**31))
    return Round("", "", 1, "headphones", kind, versions, versions, pair, STRETCHES, seed, (), among)


def answer_round(held: Round, answer: Answer, rng: np.random.Generator) -> Round:
    """Answer a round to its end: to its last question, or until it is decided."""
    while not held.complete:
        held = held.after(answer(held.asked[len(held.answers)], rng))
    return held


def expect_no_favourite() -> float:
    """Give the closed form of a sitting by lot: 12 picks decide nothing, and X is missed or 12 more decide nothing."""
    decides, told = 2 * binom.sf(9, 12, 0.5), binom.sf(11, 16, 0.5)
    return float((1 - decides) * (1 - told * decides))


def expect_favourite() -> float:
    """Give the closed form of a true favourite: 12 picks name it; or decide nothing, X is told, and 12 more name it."""
    named, lost = binom.sf(9, 12, PREFERS), binom.cdf(2, 12, PREFERS)
    return float(named + (1 - named - lost) * binom.sf(11, 16, TELLS) * named)


def expect_answers(kind: Kind, chance: float) -> float:
    """Give the closed form of a round's length: it goes on past n answers while neither kind of end is reached.

    ``chance`` is that of picking the one that is preferred, or of telling X. Picks end at the third for the one
    behind, at the sixth answer soonest; X at the twelfth right or the fifth wrong one.
    """
    if kind == "apart":
        return float(sum(binom.cdf(11, n, chance) - binom.cdf(n - 5, n, chance) for n in range(16)))
    return 6.0 + float(sum(binom.cdf(2, n, chance) + binom.cdf(2, n, 1 - chance) for n in range(6, 12)))


def count_no_favourite(answer: Answer, count: int, runs: int, rng: np.random.Generator) -> Share:
    """Count the sittings that give no favourite."""
    return Share(sum(hold_sitting(answer, count, rng).favourite is None for _ in range(runs)), runs)


def count_favourites(count: int, runs: int, rng: np.random.Generator) -> tuple[Share, Share, Share, float]:
    """Count the sittings that name the true favourite, that compare it at last, and name it of these; mean answers."""
    named = met = answers = 0
    for run in range(runs):
        favourite = run % count
        found = hold_sitting(Ears(favourite).answer, count, rng)
        named += found.favourite == favourite
        met += favourite in found.pair
        answers += found.answers
    return Share(named, runs), Share(met, runs), Share(named, max(1, met)), answers / runs


def run() -> bool:
    """Print all; False if a demand is missed."""
    rng = np.random.default_rng(SEED)
    print(f"sittings of blind rounds, {SITTINGS} of each kind")
    expected, kept = expect_no_favourite(), True
    print(f"  nothing heard, no favourite given; closed form {100 * expected:.1f} %")
    for count in range(FEWEST, MOST + 1):
        by_lot = count_no_favourite(Ears().answer, count, SITTINGS, rng)
        always_first = count_no_favourite(answer_first, count, SITTINGS // 4, rng)
        kept &= by_lot.value >= NO_FAVOURITE_WANTED and always_first.value >= NO_FAVOURITE_WANTED
        kept &= by_lot.agrees(expected)
        print(f"    {count} versions: by lot {by_lot}; always 1 {always_first}")
    expected = expect_favourite()
    print(f"  one preferred with {PREFERS}, X told with {TELLS}, named; closed form for two {100 * expected:.1f} %")
    for count in range(FEWEST, MOST + 1):
        named, met, of_these, answers = count_favourites(count, SITTINGS, rng)
        kept &= of_these.agrees(expected) and named.value >= FAVOURITE_WANTED
        print(f"    {count} versions: {named}; among the last two {met}, and then {of_these}; {answers:.0f} answers")
    return kept


if __name__ == "__main__":
    run()
