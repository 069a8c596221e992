"""Where the ear stands follows from the history alone, and the plan from where it stands."""

from __future__ import annotations

from dataclasses import replace

from tests.fakes import FakeClock, make_trial
from trainer.exercise.drill import Drill
from trainer.exercise.history import StoredTrial, find_standing
from trainer.exercise.trial import TrialSpec
from trainer.session.run import answer_trial, begin_run, open_trial

TODAY = 741_600


def make_history(drill: Drill, count: int, day: int, right: bool = True) -> list[StoredTrial]:
    """Answer trials as the program does."""
    clock = FakeClock()
    run = begin_run(find_standing(drill, [], "headphones", "demo", day), day, count, 0)
    stored = []
    for index in range(count):
        trial = make_trial(TrialSpec(drill, 1, index, 2.0), 2)
        run = open_trial(replace(run, outcomes=run.outcomes), trial, clock.now())
        run, kept = answer_trial(run, "2" if right else "1", 3.0, clock.now(), False)
        stored.append(replace(kept, day=day))
        clock.pass_time(9)
    return stored


def test_other_conditions_do_not_count(drills: dict[str, Drill]) -> None:
    """Set-up, class of music, silence and interrupted trials are kept apart."""
    drill = drills["high_shelf_8k"]
    trials = make_history(drill, 6, TODAY)
    mixed = [
        *trials,
        *(replace(t, setup="monitors") for t in trials),
        *(replace(t, audio_class="own") for t in trials),
        *(replace(t, setup="silent") for t in trials),
        *(replace(t, scored=False) for t in trials),
        *(replace(t, skill="limiting") for t in trials),
    ]
    standing = find_standing(drill, mixed, "headphones", "demo", TODAY)
    alone = find_standing(drill, trials, "headphones", "demo", TODAY)
    assert standing.track.estimate() == alone.track.estimate()
    assert standing.track.estimate().trials == 6


def test_days_without_practice_widen_the_range(drills: dict[str, Drill]) -> None:
    """The band is honest about what is not known any more."""
    trials = make_history(drills["high_shelf_8k"], 12, TODAY)
    widths = [
        find_standing(drills["high_shelf_8k"], trials, "headphones", "demo", TODAY + days)
        .track.estimate()
        .half_width_ratio
        for days in (0, 1, 10)
    ]
    assert widths[0] < widths[1] < widths[2]


def test_a_clock_that_was_set_back_loses_nothing(drills: dict[str, Drill]) -> None:
    """Days that run backwards are taken as the same day."""
    trials = make_history(drills["high_shelf_8k"], 4, TODAY) + make_history(drills["high_shelf_8k"], 4, TODAY - 3)
    assert find_standing(drills["high_shelf_8k"], trials, "headphones", "demo", TODAY).track.estimate().trials == 8
