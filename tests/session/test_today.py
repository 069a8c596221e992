"""The first screen: the plan in words that the data carry, a break in time, and the ears that fit on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from tests.fakes import FakeClock, FakePlayer, MemoryStore, make_world
from tests.week.days import live
from tests.week.person import Person
from tests.week.quick import FIRST_DAY, Diary, make_stored
from tests.week.stand_ins import make_stand_ins
from trainer.exercise.curriculum import LeftOut
from trainer.exercise.drill import Drill
from trainer.exercise.history import StoredTrial
from trainer.exercise.plan import DayPlan, PlanLine
from trainer.session.axes import ratio_ticks
from trainer.session.figure import Label, Path
from trainer.session.plan_words import describe_choice, describe_length, describe_line
from trainer.session.screens import Program
from trainer.session.today import MOST_EARS, MOST_TICKS, choose_ears, draw_ears
from trainer.session.view import TodayView
from trainer.session.words import count_words

BEGIN = datetime.fromordinal(FIRST_DAY).replace(hour=19, tzinfo=timezone.utc)


@pytest.fixture(scope="module")
def sixty(drills: dict[str, Drill]) -> dict[str, Drill]:
    """Give sixty drills of all families and forms."""
    return make_stand_ins(drills["high_shelf_8k"])


def open_today(drills: dict[str, Drill], trials: list[StoredTrial], minutes: float = 0.0, **parts: object) -> TodayView:
    """Open the first screen so many minutes after seven."""
    store = MemoryStore(trials, {"cautions_seen": "yes"})
    world = make_world(drills, store=store, clock=FakeClock(BEGIN + timedelta(minutes=minutes)), **parts)
    shown = Program(world).view()
    assert isinstance(shown, TodayView)
    return shown


def word(plan: DayPlan, name: str) -> tuple[str, str, str]:
    """Word the line of a drill."""
    return describe_line(next(line for line in plan.lines if line.standing.drill.drill == name))


def test_a_beginner_reads_what_is_new_and_how_long_it_takes(sixty: dict[str, Drill]) -> None:
    """No range before anything was heard; the minutes are the sum of those that the lines say."""
    shown = open_today(sixty, [])
    told = [int(item.detail.rsplit(" ", 2)[1]) for item in shown.items]
    assert shown.headline.endswith(f"{count_words(sum(told)).capitalize()} minutes.") and told[0] == 6
    assert shown.sentence.startswith("One skill in depth, then three short looks. “Level 1” is new")
    assert [item.note for item in shown.items] == ["new to you"] * 4
    assert [item.amount for item in shown.items] == [""] * 4
    assert shown.items[0].detail == "pick of three · 30 trials · 6 min" and shown.items[0].selected


def test_reasons_say_what_the_history_says(sixty: dict[str, Drill]) -> None:
    """Days are counted from the history; a range that is too wide is called that; one trial is one trial."""
    diary = Diary(Person("usual", ()), sixty).live(range(3))
    plan = diary.plan(4)
    for line in plan.lines:
        _, span, why = describe_line(line)
        days = [t.day for t in diary.trials if t.drill == line.standing.drill.drill]
        since = FIRST_DAY + 4 - max(days) if days else None
        told = {None: "new to you", 1: "yesterday"}.get(since, f"{since} days ago")
        estimate = line.standing.track.estimate()
        assert told in why or (line.reason == "stays" and "still finding you" in why)
        assert ("still finding you" in why) == bool(days and estimate.edge is None and not estimate.settled)
        assert bool(span) == bool(days)
    lesson = PlanLine(replace(plan.lines[0].standing, drill=sixty["setup_3"]), 1, "back", "look", 31)
    assert describe_line(lesson) == ("lesson · 1 trial · 1 min", "", "last practised 31 days ago")


def test_the_day_is_told_as_it_goes(sixty: dict[str, Drill]) -> None:
    """After the depth only looks are left; after all of it there is nothing more to do."""
    diary = Diary(Person("usual", ()), sixty)
    depth = [make_stored(sixty["level_1"], FIRST_DAY, number) for number in range(30)]
    plan = Diary(diary.person, sixty, trials=depth).plan(0)
    assert describe_choice(plan) == "The skill in depth is done; left: three short looks."
    assert word(plan, "level_1")[2] == "practised today"
    assert describe_length(plan) == "Three minutes."
    done = diary.live([0]).plan(0)
    assert describe_length(done) == "Done for today."
    assert describe_choice(done).startswith("All of it was practised today.")


def test_no_words_claim_that_anything_got_better(sixty: dict[str, Drill]) -> None:
    """A week and what every screen of it says: one day's answers are no proof of that."""
    person = Person("one who improves", tuple(range(4)), improves=lambda day: 0.8**day)
    said = "\n".join(line for day in live(person, sixty) for line in day.words).lower()
    assert "in depth" in said
    for claim in ("improv", "better than", "progress", "well done", "great", "sharper", "trained your"):
        assert claim not in said


def test_what_is_left_out_is_said(sixty: dict[str, Drill]) -> None:
    """With its cause and its number, in whole sentences."""
    plan = Diary(Person("usual", ()), sixty).plan(0)
    said = describe_choice(replace(plan, left_out=(LeftOut("low", 2), LeftOut("top", 1), LeftOut("parts", 12))))
    assert "Two drills are left out: this set-up does not play the lowest bass." in said
    assert "One drill is left out: this set-up does not play the highest top." in said
    assert "12 drills are left out: your own mix has no separate parts." in said


def test_a_question_about_the_set_up_names_what_it_is_for(sixty: dict[str, Drill]) -> None:
    """It stands first, once."""
    diary = Diary(Person("usual", ()), sixty).live(range(12))
    plan = next(plan for plan in diary.plans.values() if plan.lines[0].part == "check")
    assert describe_choice(plan).startswith("One question about the set-up, then one skill in depth")
    assert describe_line(plan.lines[0])[2] == f"asked once, for “{plan.lines[0].words}”"


@pytest.mark.parametrize(("minutes", "proposed"), [(10, False), (19, False), (21, True), (29, True), (45, False)])
def test_a_break_is_proposed_after_twenty_minutes(minutes: int, proposed: bool, sixty: dict[str, Drill]) -> None:
    """Without a pause; ITU-R BS.1116 keeps sessions to 20 to 30 minutes. A pause has been one after ten minutes."""
    answered = min(minutes, 30) * 5
    trials = [make_stored(sixty["level_1"], FIRST_DAY, number) for number in range(answered)]
    shown = open_today(sixty, trials, minutes)
    assert ("Time for a break." in shown.headline) == proposed
    assert (f"{minutes} minutes of practice without a pause" in shown.sentence) == proposed
    assert shown.start.main != proposed and shown.items


def test_small_monitors_are_told_once(sixty: dict[str, Drill]) -> None:
    """The whole way through the program: asked, answered with no, left out from then on, and nothing stops."""
    person = Person("small", tuple(range(9)), "monitors", hears={"low": False})
    days = live(person, sixty)
    asked = [day for day in days if day.plan.lines[0].standing.drill.drill == "setup_1"]
    assert len(asked) == 1
    after = days[days.index(asked[0]) + 1 :]
    assert after and all("does not play the lowest bass" in " ".join(day.words) for day in after)


def test_the_ears_that_are_shown_fit(sixty: dict[str, Drill]) -> None:
    """Today's first, then what was practised last; only where a threshold is looked for, one to a skill."""
    diary = Diary(Person("usual", ()), sixty).live(range(10))
    standings, plan = diary.stand(10), diary.plan(10)
    shown = choose_ears(standings, plan)
    assert len(shown) == MOST_EARS
    names = {each.drill.drill for each in shown}
    planned = [line.standing.drill for line in plan.lines]
    assert {d.drill for d in planned if d.form.startswith(("pick", "oddity", "name"))} <= names
    assert all(each.drill.drill in {d.drill for d in planned} or each.track.trials for each in shown)
    few = choose_ears(Diary(Person("usual", ()), sixty).stand(0), Diary(Person("usual", ()), sixty).plan(0))
    assert len(few) == 4


@pytest.mark.parametrize("bounds", [(0.25, 12.0), (0.1, 10.0), (20.0, 2000.0), (1.0, 3.0), (0.001, 100.0), (6.0, 16.0)])
def test_ticks_are_round_and_span_the_amounts(bounds: tuple[float, float]) -> None:
    """Of 1, 2 and 5 times a power of ten, rising, not too many, and wide enough for all that may be asked."""
    ticks = ratio_ticks(*bounds, MOST_TICKS)
    assert 2 <= len(ticks) <= 8 and list(ticks) == sorted(set(ticks))
    assert ticks[0] <= bounds[0] and ticks[-1] >= bounds[1]
    assert all(f"{tick:e}"[0] in "125" and float(f"{tick:.0e}") == pytest.approx(tick) for tick in ticks)


def test_a_world_without_a_drill_for_it_has_an_empty_plan(sixty: dict[str, Drill]) -> None:
    """Own music, and only drills that need parts: a sentence, and nothing that cannot be started."""
    shown = open_today({"judgement_5": sixty["judgement_5"]}, [], audio_class="own", player=FakePlayer())
    assert shown.items == () and "left out" in shown.sentence


def test_the_skill_in_depth_says_its_day_once(sixty: dict[str, Drill]) -> None:
    """By its day in the plan: the sentence has it, the line does not."""
    plan = Diary(Person("usual", ()), sixty).live(range(1)).plan(1)
    depth = next(line for line in plan.lines if line.part == "depth")
    assert depth.reason == "stays"
    assert f"this is day {depth.day_number}." in describe_choice(plan)
    assert "depth" not in describe_line(depth)[2]


def test_one_heading_and_one_scale_to_a_family_and_its_amounts(drills: dict[str, Drill]) -> None:
    """Skills of one family in one unit stand on one scale, each with its own usual amount; the unit says of what."""
    heard = [make_stored(drills[name], FIRST_DAY, number) for name in ("high_shelf_8k", "tilt") for number in range(4)]
    store = MemoryStore(heard, {"cautions_seen": "yes"})
    world = make_world(drills, store=store, clock=FakeClock(BEGIN))
    known = [each for each in world.list_standings() if each.track.trials]
    assert len({each.drill.amount.usual for each in known}) == 2
    figure = draw_ears(known, 412.0)
    said = [shape.text for shape in figure.shapes if isinstance(shape, Label)]
    assert said.count("Balance") == 1 and said.count("gain, dB") == 1 and "not yet heard" not in said
    amber = [shape for shape in figure.shapes if shape.colour == "amber"]
    lines = [shape.points for shape in amber if isinstance(shape, Path)]
    rows = {points[0][0] for points in lines if points[1][1] < figure.height - 40}
    assert len(rows) == 2
    assert {shape.text for shape in amber if isinstance(shape, Label)} <= {"1", "1.5"}


def test_nothing_heard_draws_no_scale(drills: dict[str, Drill]) -> None:
    """Axes without data would say in each row what one sentence says."""
    figure = draw_ears(make_world(drills).list_standings()[:4], 412.0)
    assert all(isinstance(shape, Label) for shape in figure.shapes)
    assert " ".join(s.text for s in figure.shapes if isinstance(s, Label)).startswith("After a few answers")
