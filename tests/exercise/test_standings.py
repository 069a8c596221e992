"""Standings that are kept give what a replay of the whole history gives, whatever happens to it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.week.quick import FIRST_DAY, make_stored
from trainer.exercise.drill import Drill
from trainer.exercise.history import StoredTrial, find_standing
from trainer.exercise.standings import DayStanding, Standings, stand_today
from trainer.listening.threshold import Track


@pytest.fixture
def two(drills: dict[str, Drill]) -> dict[str, Drill]:
    """Give two drills of one skill, and one of another."""
    shelf, limiting = drills["high_shelf_8k"], drills["limiting"]
    second = replace(shelf, drill="shelf_of_two", form="pick_of_two")
    return {each.drill: each for each in (shelf, second, limiting)}


def make_history(drills: dict[str, Drill], seed: int, count: int = 60) -> list[StoredTrial]:
    """Make a history with days off, a clock that was set back, other conditions, and trials that do not count."""
    rng, day, trials = np.random.default_rng(seed), FIRST_DAY, []
    names = list(drills)
    for number in range(count):
        day += int(rng.choice([0, 0, 0, 1, 9, -2]))
        changes = {
            "correct": bool(rng.random() < 0.7),
            "amount": float(rng.choice([0.7, 1.3, 2.4, 5.0])),
            "scored": bool(rng.random() < 0.9),
            "setup": str(rng.choice(["headphones", "headphones", "monitors"])),
            "audio_class": str(rng.choice(["demo", "demo", "own"])),
        }
        trials.append(make_stored(drills[names[int(rng.integers(len(names)))]], day, number, **changes))
    return trials


def assert_same(found: Track, expected: Track) -> None:
    """Compare two tracks bit for bit."""
    assert found.trials == expected.trials
    assert np.array_equal(found.posterior, expected.posterior)


@pytest.mark.parametrize("seed", range(4))
def test_what_is_kept_is_what_a_replay_gives(two: dict[str, Drill], seed: int) -> None:
    """However the history grows, and under conditions that change in between; the replay is the definition."""
    trials, kept, rng = make_history(two, seed), Standings(), np.random.default_rng(seed)
    known = 0
    while known < len(trials):
        known = min(len(trials), known + int(rng.integers(1, 20)))
        setup = "monitors" if rng.random() < 0.2 else "headphones"
        today = trials[known - 1].day + int(rng.integers(0, 4))
        for standing in kept.find(two, trials[:known], setup, "demo", today):
            expected = find_standing(standing.drill, trials[:known], setup, "demo", today)
            assert_same(standing.track, expected.track)
            assert standing.last_day == expected.last_day
            assert (standing.setup, standing.audio_class) == (setup, "demo")


def test_a_corrected_history_is_replayed(two: dict[str, Drill]) -> None:
    """One answer in the middle changes, one is put in, all are gone: what was kept does not stay."""
    trials, kept = make_history(two, 7), Standings()
    day = trials[-1].day
    kept.find(two, trials, "headphones", "demo", day)
    corrected = [replace(each, correct=False) if place == 20 else each for place, each in enumerate(trials)]
    merged = [*trials[:10], make_stored(two["limiting"], trials[9].day, 999), *trials[10:]]
    for history in (corrected, merged, []):
        for standing in kept.find(two, history, "headphones", "demo", day):
            assert_same(standing.track, find_standing(standing.drill, history, "headphones", "demo", day).track)


def test_a_morning_knows_nothing_of_the_day(two: dict[str, Drill]) -> None:
    """Before today's first answer the track is that of the history before today, with its days passed."""
    shelf = two["high_shelf_8k"]
    past = [make_stored(shelf, FIRST_DAY, number, correct=number % 4 > 0) for number in range(20)]
    now = [make_stored(shelf, FIRST_DAY + 5, number, correct=False) for number in range(6)]
    standing = Standings().find({"a": shelf}, [*past, *now], "headphones", "demo", FIRST_DAY + 5)[0]
    morning = find_standing(shelf, past, "headphones", "demo", FIRST_DAY + 5)
    evening = find_standing(shelf, past, "headphones", "demo", FIRST_DAY)
    assert_same(standing.morning, morning.track)
    assert_same(standing.evening, evening.track)
    assert standing.track.trials == 26


def test_a_shortfall_is_prediction_less_outcome(two: dict[str, Drill]) -> None:
    """Ten misses at an amount that was nearly sure: predictions before each answer, by the track itself."""
    shelf = two["high_shelf_8k"]
    good = [make_stored(shelf, FIRST_DAY, number, amount=4.0) for number in range(30)]
    bad = [make_stored(shelf, FIRST_DAY + 1, number, amount=4.0, correct=False) for number in range(10)]
    track, predicted = find_standing(shelf, good, "headphones", "demo", FIRST_DAY + 1).track, []
    for trial in bad:
        predicted.append(track.predict_correct(trial.amount, trial.task))
        track = track.after(trial.amount, False, trial.task)
    standing = Standings().find({"a": shelf}, [*good, *bad], "headphones", "demo", FIRST_DAY + 2)[0]
    assert standing.shortfall == pytest.approx(sum(predicted) / 10)
    assert standing.shortfall > 0.2
    few = Standings().find({"a": shelf}, bad[:9], "headphones", "demo", FIRST_DAY + 2)[0]
    assert few.shortfall == 0.0


def test_plain_standings_get_their_mornings(two: dict[str, Drill]) -> None:
    """A plan may be asked with standings of either kind."""
    trials = make_history(two, 3)
    plain = [find_standing(drill, trials, "headphones", "demo", FIRST_DAY + 99) for drill in two.values()]
    whole = stand_today(plain, trials, FIRST_DAY + 99)
    assert all(isinstance(each, DayStanding) for each in whole)
    assert stand_today(whole, trials, FIRST_DAY + 99) == whole
    for given, made in zip(plain, whole, strict=True):
        assert_same(made.track, given.track)


def test_only_what_is_new_is_worked_out(two: dict[str, Drill], monkeypatch: pytest.MonkeyPatch) -> None:
    """One more answer costs one step for each track of its skill, not a replay."""
    trials, kept, steps = make_history(two, 5), Standings(), 0
    kept.find(two, trials, "headphones", "demo", FIRST_DAY + 99)
    plain = Track.after

    def count(self: Track, amount: float, correct: bool, task: str) -> Track:
        nonlocal steps
        steps += 1
        return plain(self, amount, correct, task)

    monkeypatch.setattr(Track, "after", count)
    kept.find(two, trials, "headphones", "demo", FIRST_DAY + 99)
    assert steps == 0
    kept.find(two, [*trials, make_stored(two["limiting"], FIRST_DAY + 99)], "headphones", "demo", FIRST_DAY + 99)
    assert steps == 1
