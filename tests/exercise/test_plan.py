"""Today's plan: its length, its rotation, its growing gaps, what it may not ask, and that all comes up in time.

The lengths and the days are the program's own promises (6 to 10 minutes; the same skill for three to five days);
contiguous practice, rotation and short sessions follow Molloy et al. (PLoS ONE 2012) and Little, Zhang & Wright (2017),
both from memory, and the pause is that of ITU-R BS.1116 session practice.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from itertools import pairwise

import numpy as np
import pytest

from tests.week.person import Person
from tests.week.quick import FIRST_DAY, Diary, make_stored
from tests.week.stand_ins import make_stand_ins
from trainer.exercise.curriculum import LeftOut, find_groundwork, sort_by_plainness
from trainer.exercise.drill import Choice, Drill
from trainer.exercise.families import FAMILIES
from trainer.exercise.forms import FORMS
from trainer.exercise.history import StoredTrial
from trainer.exercise.morning import find_morning
from trainer.exercise.pace import count_depth_trials, count_look_trials, estimate_seconds, measure_stretch
from trainer.exercise.plan import DayPlan, PlanLine, plan_today

MONTH = range(30)
PEOPLE = (Person("usual", ()), Person("coarse", (), ratio=6.0))


@pytest.fixture(scope="module")
def sixty(drills: dict[str, Drill]) -> dict[str, Drill]:
    """Give sixty drills of all families and forms."""
    return make_stand_ins(drills["high_shelf_8k"])


@pytest.fixture(scope="module", params=PEOPLE, ids=[person.name for person in PEOPLE])
def month(request: pytest.FixtureRequest, sixty: dict[str, Drill]) -> Diary:
    """Give a month of practice, every day, as planned."""
    return Diary(request.param, sixty).live(MONTH)


def list_names(plan: DayPlan) -> list[str]:
    """List the drills of a plan."""
    return [line.standing.drill.drill for line in plan.lines]


def find_depth(plan: DayPlan) -> PlanLine:
    """Find what is in depth."""
    return next(line for line in plan.lines if line.part == "depth")


def test_a_day_takes_six_to_ten_minutes(month: Diary) -> None:
    """Questions, answers and labelled examples together; a depth that is longer than each look."""
    for plan in month.plans.values():
        assert 6.0 <= sum(line.seconds for line in plan.lines) / 60 <= 10.0
        looks = [line.seconds for line in plan.lines if line.part == "look"]
        assert 1 <= len(looks) <= 4 and find_depth(plan).seconds > max(looks)
        assert len(set(list_names(plan))) == len(plan.lines)
        skills = [line.standing.drill.skill for line in plan.lines]
        assert len(set(skills)) == len(skills)


def test_every_drill_comes_up_within_a_month(month: Diary, sixty: dict[str, Drill]) -> None:
    """All sixty of them, whoever listens."""
    met = {name for plan in month.plans.values() for name in list_names(plan)}
    assert met == set(sixty)


def test_the_bundled_drills_come_up_within_a_month(drills: dict[str, Drill]) -> None:
    """All of them, on headphones and with the bundled music."""
    diary = Diary(PEOPLE[0], drills).live(MONTH)
    assert {name for plan in diary.plans.values() for name in list_names(plan)} == set(drills)


def test_a_skill_stays_for_three_to_five_days(month: Diary) -> None:
    """Then another one follows, and the first does not come in depth again for two weeks."""
    depths = [find_depth(plan) for plan in month.plans.values()]
    names = [line.standing.drill.drill for line in depths]
    starts = [0, *(place for place in range(1, len(names)) if names[place] != names[place - 1])]
    lengths = [after - start for start, after in pairwise(starts)]
    assert len(lengths) >= 5 and set(lengths) <= {3, 4, 5}
    assert len({names[start] for start in starts}) == len(starts)
    for place, line in enumerate(depths):
        start = max(each for each in starts if each <= place)
        assert line.day_number == place - start + 1
        assert (line.reason == "stays") == (place > start)


def test_a_settled_skill_goes_on_to_the_next_after_three_days(sixty: dict[str, Drill]) -> None:
    """One that is not settled stays for five."""
    level = sixty["level_1"]
    for sure, stays in ((True, False), (False, True)):
        trials, kept = [], Diary(PEOPLE[0], sixty)
        for day in range(3):
            for number in range(30 if sure else 16):
                # Right above 2 dB and guessing below, or answers that agree with nothing.
                amount = 2.6 if number % 2 else 1.2
                correct = amount > 2 or number % 3 == 0 if sure else number % 5 in (0, 2)
                trials.append(make_stored(level, FIRST_DAY + day, number, amount=amount, correct=correct))
        kept.trials = trials
        settled = kept.stand(3)[list(sixty).index("level_1")].last_evening.settled
        assert settled == sure
        assert (list_names(kept.plan(3))[0] == "level_1") == stays


def test_gaps_grow_from_visit_to_visit(sixty: dict[str, Drill]) -> None:
    """A drill that goes well and is practised whenever it is due: it waits longer each time, at most a month."""
    shelf, visits = sixty["balance_3"], [0]
    for _ in range(5):
        trials = [make_stored(shelf, FIRST_DAY + day, number) for day in visits for number in range(8)]
        visits.append(visits[-1] + find_gap(trials, shelf, visits[-1] + 1))
    gaps = np.diff(visits)
    assert gaps[0] >= 2 and gaps[-1] <= 30
    assert all(after > before for before, after in pairwise(gaps))


def test_a_gap_that_came_late_does_not_shrink(sixty: dict[str, Drill]) -> None:
    """After nine days of other practice in between, the next gap is nine days at least."""
    shelf, other = sixty["balance_3"], sixty["stereo_1"]
    trials = [make_stored(shelf if day in (0, 9) else other, FIRST_DAY + day, n) for day in range(10) for n in range(8)]
    assert find_gap(trials, shelf, 10) >= 9
    away = [make_stored(shelf, FIRST_DAY + day, n) for day in (0, 9) for n in range(8)]
    assert find_gap(away, shelf, 10) < 9


def find_gap(trials: list[StoredTrial], drill: Drill, day: int) -> int:
    """Find after how many days a drill is due again, seen from a day."""
    diary = Diary(PEOPLE[0], {drill.drill: drill}, trials=trials)
    return find_morning(diary.stand(day), trials, FIRST_DAY + day, {}, 0).facts[drill.drill].gap


def test_the_plan_follows_from_history_date_and_seed(month: Diary, sixty: dict[str, Drill]) -> None:
    """Asked again, in another order of the standings, it is the same; the seed decides only between equals."""
    standings = list(month.stand(30))
    first = plan_today(standings, month.trials, FIRST_DAY + 30, seed=3)
    assert plan_today(standings, month.trials, FIRST_DAY + 30, seed=3) == first
    again = Diary(month.person, sixty, trials=list(month.trials), seed=3).plan(30)
    assert list_names(again) == list_names(first)
    plain = [replace(line, standing=first.lines[0].standing) for line in first.lines]
    assert [replace(line, standing=first.lines[0].standing) for line in again.lines] == plain


def test_a_plan_stays_through_the_day(month: Diary) -> None:
    """What is answered marks lines as done, puts them last, and changes nothing else."""
    diary = Diary(month.person, month.drills, trials=list(month.trials))
    planned = diary.plan(31)
    rng = np.random.default_rng(0)
    for done in range(1, len(planned.lines) + 1):
        diary.trials += diary.answer(diary.plan(31).lines[0], 31, rng)
        now = diary.plan(31)
        assert sorted(list_names(now)) == sorted(list_names(planned))
        assert [line.done for line in now.lines] == [False] * (len(now.lines) - done) + [True] * done
        assert {(line.standing.drill.drill, line.reason) for line in now.lines} == {
            (line.standing.drill.drill, line.reason) for line in planned.lines
        }
    assert not diary.plan(31).left


def test_a_run_that_was_left_goes_on(sixty: dict[str, Drill]) -> None:
    """A third of it answered: two thirds are left; a form that has to stay whole begins again."""
    level = sixty["level_1"]
    diary = Diary(PEOPLE[0], sixty, trials=[make_stored(level, FIRST_DAY, number) for number in range(10)])
    assert diary.plan(0).find_trials("level_1") == 20 and find_depth(diary.plan(0)).reason == "new"
    diary.trials += [make_stored(level, FIRST_DAY, number) for number in range(10, 20)]
    assert find_depth(diary.plan(0)).done


def test_beginners_begin_with_what_is_large_and_plain(sixty: dict[str, Drill]) -> None:
    """Level in depth, a shelf and limiting beside it; what is named or judged comes later."""
    plan = Diary(PEOPLE[0], sixty).plan(0)
    assert list_names(plan)[:3] == ["level_1", "balance_1", "overlimiting_1"]
    assert all(line.reason == "new" for line in plan.lines)
    ordered = sort_by_plainness(random.Random(1).sample(list(sixty.values()), len(sixty)))
    firsts = [next(place for place, drill in enumerate(ordered) if drill.subject == family) for family in FAMILIES]
    assert sorted(firsts) == list(range(len(FAMILIES)))


def test_naming_comes_after_the_picks_of_what_it_names(sixty: dict[str, Drill]) -> None:
    """Two bells that are picked, and a drill that names them: first both of them."""
    low, high = (
        replace(sixty["balance_1"], drill=n, skill=n, settings={"centre_hz": f})
        for n, f in (("low", 100.0), ("high", 3000.0))
    )
    other = replace(low, drill="other", skill="other", settings={"centre_hz": 9000.0})
    choices = tuple(Choice(d.drill, d.drill, "bell", d.settings) for d in (low, high))
    naming = replace(low, drill="naming", skill="naming", form="name_it", choices=choices)
    assert find_groundwork(naming, (low, high, other, naming)) == ("low", "high")
    assert find_groundwork(low, (low, high, other, naming)) == ()
    four = {each.drill: each for each in (naming, low, high, other)}
    diary = Diary(PEOPLE[0], four).live(range(6))
    first = {name: min(d for d, plan in diary.plans.items() if name in list_names(plan)) for name in four}
    assert first["naming"] > max(first["low"], first["high"])


def test_a_set_up_is_asked_once_before_what_needs_it(month: Diary) -> None:
    """The question stands first on the day of the first drill that needs it, and never again."""
    for check, reach in (("setup_1", "low"), ("setup_2", "top")):
        days = [day for day, plan in month.plans.items() if check in list_names(plan)]
        assert len(days) == 1
        plan = month.plans[days[0]]
        assert plan.lines[0].part == "check" and plan.lines[0].reason == "check"
        needing = [line.standing.drill for line in plan.lines[1:] if line.standing.drill.reach == reach]
        assert needing and plan.lines[0].words == needing[0].title
        for day in range(days[0]):
            assert not any(line.standing.drill.reach == reach for line in month.plans[day].lines)
        assert sum(line.part == "check" for line in plan.lines) == 1


def test_what_cannot_be_carried_is_not_planned(sixty: dict[str, Drill]) -> None:
    """After "no" to the lowest bass its drills are left out, with an own mix those that need parts or a reference.

    All others come. The plan says so; a later "yes" or another set-up opens them again.
    """
    small = Person("small", (), setup="monitors", hears={"low": False}, own_mix=True)
    diary = Diary(small, sixty).live(MONTH)
    answered = next(trial for trial in diary.trials if trial.drill == "setup_1")
    low = {name for name, drill in sixty.items() if drill.reach == "low"} - {"setup_1"}
    parts = {"judgement_5", "judgement_6"}
    assert {trial.drill for trial in diary.trials} == set(sixty) - low - parts - {"judgement_7"}
    for day, plan in diary.plans.items():
        assert {LeftOut("parts", 2), LeftOut("reference", 1)} <= set(plan.left_out)
        assert (LeftOut("low", len(low)) in plan.left_out) == (FIRST_DAY + day > answered.day)
    yes = make_stored(sixty["setup_1"], FIRST_DAY + 30, 0, setup="monitors", answer="yes", audio_class="own")
    diary.trials.append(yes)
    assert diary.plan(30).left_out == (LeftOut("parts", 2), LeftOut("reference", 1))
    assert not Diary(Person("headphones", ()), sixty, trials=diary.trials[:-1]).plan(31).left_out


def test_without_any_drill_that_can_be_asked_the_plan_is_empty(sixty: dict[str, Drill]) -> None:
    """No drills at all, or only such as the music cannot carry."""
    assert plan_today((), (), FIRST_DAY) == DayPlan(())
    parts = {name: sixty[name] for name in ("judgement_5", "judgement_6")}
    plan = Diary(Person("own", (), own_mix=True), parts).plan(0)
    assert plan.lines == () and plan.left_out == (LeftOut("parts", 2),)


@pytest.mark.parametrize("kind", ["lost", "short"])
def test_what_went_badly_comes_back_soon(kind: str, sixty: dict[str, Drill]) -> None:
    """Three misses in a row in its last run, or ten answers far below prediction: within two days, with that reason."""
    diary = Diary(PEOPLE[0], sixty).live(range(6))
    name, drill = "stereo_1", sixty["stereo_1"]
    diary.trials = [trial for trial in diary.trials if trial.drill != name]
    for number in range(36):
        wrong = number > 26 and (number in (30, 31, 32) if kind == "lost" else number % 3 > 0)
        day = FIRST_DAY + (0, 1, 2, 5)[number // 9]
        diary.trials.append(make_stored(drill, day, 200 + number, seed=number // 9, amount=4.0, correct=not wrong))
    diary.trials.sort(key=lambda trial: trial.day)
    found = [line for line in (*diary.plan(6).lines, *diary.plan(7).lines) if line.standing.drill.drill == name]
    assert found and found[0].reason == kind


def test_what_a_decision_sheet_needs_comes_first(sixty: dict[str, Drill]) -> None:
    """As a look on the next day, and in depth at the next change; its words are the reason."""
    needs = {"compression_2": "for step 4 of Harbour, mix 4"}
    diary = Diary(PEOPLE[0], sixty, needs=needs).live(range(8))
    first = next(line for line in diary.plans[0].lines if line.standing.drill.drill == "compression_2")
    assert first.reason == "sheet" and first.words == needs["compression_2"]
    assert "compression_2" in [find_depth(plan).standing.drill.drill for plan in diary.plans.values()]


def test_after_ten_days_the_skill_goes_on(sixty: dict[str, Drill]) -> None:
    """The days are told as they are; nothing starts anew."""
    diary = Diary(PEOPLE[0], sixty).live(range(2))
    back = find_depth(diary.plan(12))
    assert back.standing.drill.drill == "level_1" and back.day_number == 3
    assert back.days_since == 11


def test_another_set_up_has_a_plan_of_its_own(sixty: dict[str, Drill]) -> None:
    """What is known on headphones is new on monitors, and is called that."""
    diary = Diary(PEOPLE[0], sixty).live(range(3))
    monitors = Diary(Person("monitors", (), setup="monitors"), sixty, trials=diary.trials).plan(3)
    assert {line.reason for line in monitors.lines} == {"new_here"}


def test_a_clock_that_ran_ahead_does_no_harm(sixty: dict[str, Drill]) -> None:
    """Trials of days to come count as yesterday's: nothing is done today, and no day lies ahead."""
    trials = [make_stored(sixty["level_1"], FIRST_DAY + 5, number) for number in range(30)]
    plan = Diary(PEOPLE[0], sixty, trials=trials).plan(0)
    assert find_depth(plan).reason == "stays" and find_depth(plan).days_since == 1
    assert not any(line.done for line in plan.lines)


def test_lengths_by_form_fit_the_form(sixty: dict[str, Drill]) -> None:
    """A test of fixed length stays whole; a long form is short in trials; nothing takes more than its part."""
    for drill in sixty.values():
        look, depth = count_look_trials(drill), count_depth_trials(drill, False)
        assert 1 <= look <= drill.trials and depth <= drill.trials
        assert estimate_seconds(drill, look) <= 225 and estimate_seconds(drill, depth) <= 375
        if drill.form in ("abx", "prefer", "louder_or_better", "lesson"):
            assert look == drill.trials
    assert {drill.form for drill in sixty.values()} == set(FORMS)


def test_a_stretch_of_practice_is_measured_until_a_pause(sixty: dict[str, Drill]) -> None:
    """Each trial takes its time with its answer shown; ten minutes without any begin a new stretch."""
    day, level = FIRST_DAY, sixty["level_1"]
    begin = datetime.fromordinal(day).replace(hour=19, tzinfo=timezone.utc)
    trials = [make_stored(level, day, number) for number in range(110)]
    assert measure_stretch(trials, begin + timedelta(minutes=22)) == pytest.approx(22.0)
    assert measure_stretch(trials, begin + timedelta(minutes=31)) == pytest.approx(22.0)
    assert measure_stretch(trials, begin + timedelta(minutes=33)) == 0.0
    paused = [t for t in trials if not 40 <= t.index < 100]
    assert measure_stretch(paused, begin + timedelta(minutes=22)) == pytest.approx(2.0)
    assert measure_stretch(trials, begin + timedelta(days=1)) == 0.0
    assert measure_stretch([replace(t, response_s=9000.0) for t in trials[:1]], begin) == pytest.approx(124 / 60)
