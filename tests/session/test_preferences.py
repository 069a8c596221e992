"""Runs of preferences: pairs in rounds, nothing shown before the end, and a verdict no stronger than the answers."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from tests.fakes import make_world
from trainer.exercise.drill import Choice, Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.forms.form import Grade, Turn
from trainer.exercise.forms.preferring import find_pair, list_versions
from trainer.exercise.trial import Outcome
from trainer.session.preferences import describe_loudness_bias
from trainer.session.run import Run, begin_run
from trainer.session.summaries import describe_result, describe_run

CHOICES = tuple(
    Choice(answer, f"the one called {answer}", "bell", {"centre_hz": hz})
    for answer, hz in (("low", 200.0), ("middle", 1000.0), ("high", 5000.0))
)


@pytest.fixture
def drill(drills: dict[str, Drill]) -> Drill:
    """Give four versions to compare: as it is, and three others."""
    return replace(drills["high_shelf_8k"], drill="t", skill="t", form="prefer", choices=CHOICES, trials=33)


def listen(run: Run, strengths: tuple[float, ...], trials: int) -> Run:
    """Let a listener with fixed strengths (Bradley and Terry 1952) answer."""
    rng, form, outcomes = np.random.default_rng([run.seed, 99]), FORMS["prefer"], []
    for index in range(trials):
        pair = find_pair(run.drill, Turn(run.seed, index))
        left = rng.random() < 1.0 / (1.0 + np.exp(strengths[pair.right] - strengths[pair.left]))
        layout = form.lay_out(run.drill, 2.0, rng, Turn(run.seed, index))
        answer = "1" if left else "2"
        outcomes.append(
            Outcome(str(index), index, 2.0, 2.0, answer, "", form.grade(answer, layout, run.drill), 3.0, True)
        )
    return replace(run, outcomes=tuple(outcomes), planned=trials)


def make_run(drill: Drill, seed: int) -> Run:
    """Begin a run."""
    return begin_run(make_world({"t": drill}).find_standing("t"), seed, drill.trials, False)


def test_each_round_has_every_pair_and_another_order(drill: Drill) -> None:
    """Four versions: six pairs and five hidden repeats a round; the same turn gives the same pair again."""
    pairs = [find_pair(drill, Turn(3, index)) for index in range(33)]
    for begins in (0, 11, 22):
        met = Counter(frozenset((pair.left, pair.right)) for pair in pairs[begins : begins + 11])
        assert len(met) == 6 and sum(met.values()) == 11
    assert pairs[:11] != pairs[11:22]
    assert pairs == [find_pair(drill, Turn(3, index)) for index in range(33)]


def test_a_layout_holds_the_pair_and_tells_nothing(drill: Drill) -> None:
    """Versions by number only; one of them may be the song as it is; the one shown afterwards is processed."""
    versions = list_versions(drill, 2.0)
    for index in range(33):
        pair = find_pair(drill, Turn(3, index))
        layout = FORMS["prefer"].lay_out(drill, 2.0, np.random.default_rng(1), Turn(3, index))
        assert layout.takes == (versions[pair.left], versions[pair.right])
        assert layout.labels == ("1", "2") and not layout.right_answer and layout.takes[layout.target].processed


def test_a_strong_preference_is_named_and_none_is_not(drill: Drill) -> None:
    """By construction: 9:1 over every other is found in most runs; with no preference a favourite is rare."""
    strong = [describe_result(listen(make_run(drill, seed), (0.0, 0.0, 2.5, 0.0), 33)) for seed in range(20)]
    assert sum("A favourite: the one called middle" in line for line in strong) >= 16
    none = [describe_result(listen(make_run(drill, seed), (0.0, 0.0, 0.0, 0.0), 33)) for seed in range(40)]
    assert sum("A favourite" in line for line in none) <= 10


def test_two_versions_are_judged_by_ten_of_twelve(drill: Drill) -> None:
    """12 picks; 10 the same way are 0.0386 two-sided on a coin (binomial), and 9 are not enough."""
    two = replace(drill, choices=(), trials=12)
    lines = {}
    for wanted in (9, 10):
        run = listen(make_run(two, 5), (0.0, 0.0), 12)
        processed = [find_pair(two, Turn(5, index)).left == 1 for index in range(12)]
        answers = ["1" if (first == (index < wanted)) else "2" for index, first in enumerate(processed)]
        outcomes = tuple(replace(o, answer=answer) for o, answer in zip(run.outcomes, answers, strict=True))
        ended = replace(run, outcomes=outcomes)
        lines[wanted] = (describe_result(ended), *describe_run(ended))
    assert (
        "10 of 12 times" in lines[10][0]
        and "0.04" in lines[10][1]
        and lines[10][2] == "A favourite: the processed version."
    )
    assert "9 of 12 times" in lines[9][0] and "No clear favourite" in lines[9][2]


def test_loudness_bias_is_counted_as_it_is() -> None:
    """14 of 16 wins: two-sided odds on a coin 0.0042 (binomial, 2 · 137 / 65536)."""
    outcomes = [
        Outcome(str(n), n, 1.0, 1.0, "1", "", Grade(None, float(n < 14), None, ""), 3.0, True) for n in range(16)
    ]
    first, second, _ = describe_loudness_bias(outcomes)
    assert "won 14 of 16 times" in first and "0.00" in second
