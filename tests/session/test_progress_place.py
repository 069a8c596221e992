"""What the history tells: thresholds and changes as far as the data carry them, and an empty history as an answer."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import combinations

import numpy as np
import pytest

from tests.fakes import MemoryStore, make_world
from tests.text.typing import lead
from tests.week.quick import make_stored
from trainer.exercise.drill import Drill
from trainer.exercise.history import StoredTrial, find_standing
from trainer.listening.listener import Listener
from trainer.listening.threshold import Estimate
from trainer.session import intents
from trainer.session.axes import letter_width
from trainer.session.figure import Area, Figure, Label, Mark
from trainer.session.pages import PageView, Picture, Prose, Sheet, Table
from trainer.session.progress_place_charts import draw_course, draw_sheet
from trainer.session.progress_place_facts import BLOCK_DAYS, count_confusions, list_dates, trace_course
from trainer.session.progress_place_view import MOST_DATES, NOTHING, describe_change, describe_difference
from trainer.session.screens import Program
from trainer.session.view import TodayView

DAY = 741_600
LAST = date(2031, 5, 7).toordinal()


def answer_days(drill: Drill, days: list[int], right: float, **changes: object) -> list[StoredTrial]:
    """Answer twenty trials of the usual amount on each day, a share of them right, at regular places."""
    return [
        make_stored(drill, day, n, amount=drill.amount.usual, correct=int((n + 1) * right) > int(n * right), **changes)
        for day in days
        for n in range(20)
    ]


def open_progress(drills: dict[str, Drill], trials: list[StoredTrial], look: str = "", **parts: object) -> Program:
    """Open the place and look in a way."""
    store = MemoryStore(sorted(trials, key=lambda trial: trial.answered_at), {"cautions_seen": "yes"})
    program = Program(make_world(drills, store=store, **parts))
    program.act(intents.GoTo("progress"))
    if look:
        program.act(intents.Do("look", look))
        while show(program).busy:
            program.tick()
    return program


def show(program: Program) -> PageView:
    """Give the page that is shown."""
    shown = program.view()
    assert isinstance(shown, PageView)
    return shown


def read(program: Program) -> str:
    """Give all sentences and table cells of the page."""
    shown = show(program)
    lines = [shown.headline, shown.sentence]
    for part in shown.list_parts():
        lines += [part.text] if isinstance(part, Prose) else []
        lines += [cell for row in part.rows for cell in row] if isinstance(part, Table) else []
        lines += [part.figure.described] if isinstance(part, Picture) else []
    return "\n".join(lines)


def test_an_empty_history_is_an_answer(drills: dict[str, Drill]) -> None:
    """A sentence and a way on; no picture, no number."""
    program = open_progress(drills, [])
    assert show(program).sentence == NOTHING and not any(isinstance(p, Picture) for p in show(program).list_parts())
    for look in ("days", "mixed", "compared", "dates"):
        program.act(intents.Do("look", look))
        assert show(program).sentence == NOTHING
    program.act(intents.GoOn())
    program.act(intents.GoBack())
    assert isinstance(program.view(), TodayView)


def test_what_is_shown_now_is_what_was_practised_under_these_conditions(drills: dict[str, Drill]) -> None:
    """A skill that was practised on another set-up only is not shown as this one's."""
    trials = answer_days(drills["high_shelf_8k"], [LAST], 0.8)
    trials += answer_days(drills["bell_1k"], [LAST], 0.8, setup="monitors")
    said = read(open_progress(drills, trials))
    assert drills["high_shelf_8k"].title in said and drills["bell_1k"].title not in said
    assert "dB" in said and "usual 1." in said and "usual 1.0" not in said
    assert "Compared and Dates" in read(open_progress(drills, trials, setup="small monitors"))


def test_a_course_is_what_each_evening_was(drills: dict[str, Drill]) -> None:
    """The same as replaying the history up to that day, which is how a threshold is defined here."""
    drill = drills["high_shelf_8k"]
    trials = [t for k, day in enumerate((LAST - 9, LAST - 4, LAST)) for t in answer_days(drill, [day], 0.6 + 0.1 * k)]
    trials += answer_days(drill, [LAST - 2], 0.0, setup="monitors") + answer_days(drill, [LAST - 1], 0.0, scored=False)
    course = trace_course(drill, trials, "headphones", "demo")
    assert [point.day for point in course.points] == [LAST - 9, LAST - 4, LAST]
    for point in course.points:
        so_far = [trial for trial in trials if trial.day <= point.day]
        expected = find_standing(drill, so_far, "headphones", "demo", point.day).track.estimate()
        assert point.estimate.median == pytest.approx(expected.median)
        assert (point.estimate.low, point.estimate.high) == pytest.approx((expected.low, expected.high))


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [(0.35, 1.0, "a lower threshold"), (1.0, 0.35, "a higher threshold"), (0.75, 0.75, "cannot be told yet")],
)
def test_a_change_is_claimed_only_from_separate_blocks(
    first: float, last: float, words: str, drills: dict[str, Drill]
) -> None:
    """From guessing to all right at one amount, the other way round, and the same twice."""
    drill = drills["high_shelf_8k"]
    days = list(range(LAST - 2 * BLOCK_DAYS + 1, LAST + 1))
    trials = answer_days(drill, days[:BLOCK_DAYS], first) + answer_days(drill, days[BLOCK_DAYS:], last)
    assert words in describe_change(trace_course(drill, trials, "headphones", "demo"))
    fewer = trace_course(drill, trials[: 20 * (2 * BLOCK_DAYS - 1)], "headphones", "demo")
    assert describe_change(fewer) == (
        "Whether it changed can be asked after ten days of practice; nine days of practice so far."
    )


def test_an_ear_that_does_not_change_is_seldom_said_to(drills: dict[str, Drill]) -> None:
    """A claim in either direction at 0.95 may be wrong in one of ten cases; the listeners are simulated."""
    drill, claims = drills["high_shelf_8k"], 0
    for seed in range(12):
        rng, ear = np.random.default_rng(seed), Listener(drill.amount.typical)
        trials = []
        for day in range(LAST - 9, LAST + 1):
            for number in range(12):
                amount = drill.amount.typical * (0.6, 1.0, 1.6)[number % 3]
                correct = ear.answer(amount, "pick_of_three", rng)
                trials.append(make_stored(drill, day, number, amount=amount, correct=correct))
        claims += "a probability of" in describe_change(trace_course(drill, trials, "headphones", "demo"))
    assert claims <= 4  # more than four of twelve at one in ten: below 1 % (binomial)


def test_the_days_are_chosen_by_keys_and_by_click(drills: dict[str, Drill]) -> None:
    """Down, enter, another one, back to all, back to Today."""
    trials = [
        t for n in ("high_shelf_8k", "bell_1k", "limiting") for t in answer_days(drills[n], [LAST - 1, LAST], 0.8)
    ]
    program = open_progress(drills, trials, "days")
    program.act(intents.ListenOther(1))
    program.act(intents.GoOn())
    first = program.state.progress.course
    program.act(intents.ListenOther(1))
    second = program.state.progress.course
    assert first is not None and second is not None and first.drill != second.drill
    assert next(p.title for c in show(program).columns for p in c if isinstance(p, Sheet)) == second.drill.title
    program.act(intents.GoBack())
    program.act(intents.Do("skill", drills["limiting"].skill))
    assert drills["limiting"].title in read(program)
    program.act(intents.GoBack())
    program.act(intents.GoBack())
    assert isinstance(program.view(), TodayView)


def test_what_was_taken_for_what(drills: dict[str, Drill]) -> None:
    """Counted where something had to be named: three of four lows were called something else, twice the same."""
    drill = next(drill for drill in drills.values() if drill.form == "name_it" and len(drill.choices) > 2)
    low, middle, high = drill.choices[:3]
    said = [(low, low), (low, middle), (low, middle), (low, high), (middle, middle)]
    trials = [
        make_stored(drill, LAST, n, right_answer=was.answer, answer=heard.answer, correct=was == heard)
        for n, (was, heard) in enumerate(said)
    ]
    trials.append(replace(trials[1], setup="monitors"))
    found = count_confusions(drills, trials, "headphones")
    assert [(each.was, each.said, each.count, each.asked) for each in found] == [
        (low.words, middle.words, 2, 4),
        (low.words, high.words, 1, 4),
    ]
    assert f"{low.words}\n{middle.words}\n2 of 4" in read(open_progress(drills, trials, "mixed"))
    plain = answer_days(drills["high_shelf_8k"], [LAST], 0.5)
    assert "nothing was taken for something else" in read(open_progress(drills, plain, "mixed"))


def test_set_ups_and_music_are_compared_and_a_difference_is_named_only_where_ranges_lie_apart(
    drills: dict[str, Drill],
) -> None:
    """All right at 1 dB against guessing up to 2 dB differ; the same twice does not."""
    drill = drills["high_shelf_8k"]
    days = [LAST - 2, LAST - 1, LAST]
    mixed = [t for d in days for n in range(20) for t in (
        make_stored(drill, d, n, amount=(0.5, 1.0)[n % 2], correct=True),
        make_stored(drill, d, n, amount=(1.0, 2.0, 8.0)[n % 3], correct=n % 3 == 2 or n % 9 < 2, setup="monitors"),
    )]  # fmt: skip
    assert "lower: headphones" in read(open_progress(drills, mixed, "compared"))
    same = answer_days(drill, days, 0.8) + answer_days(drill, days, 0.8, audio_class="own")
    said = read(open_progress(drills, same, "compared"))
    assert "own mixes" in said and "bundled songs" in said and "none can be told yet" in said and "lower:" not in said
    alone = answer_days(drill, days, 0.8)
    assert "No skill has been practised on two set-ups" in read(open_progress(drills, alone, "compared"))


def test_ranges_lie_apart_only_by_bounds_that_are_known() -> None:
    """What is under a bound is below a range above it; what is over a bound has no end that could lie below."""
    fine, coarse = Estimate(0.1, 0.05, 0.2, 40, None), Estimate(2.0, 1.0, 4.0, 40, None)
    assert describe_difference((("a", fine), ("b", coarse))) == "lower: a"
    assert describe_difference((("b", coarse), ("a", fine))) == "lower: a"
    assert describe_difference((("a", replace(fine, edge="low")), ("b", coarse))) == "lower: a"
    assert describe_difference((("a", fine), ("b", replace(coarse, edge="low")))) == ""
    assert describe_difference((("a", replace(fine, edge="high")), ("b", coarse))) == ""
    assert describe_difference((("a", fine), ("b", replace(coarse, low=0.19)))) == ""


def test_dates_are_a_plain_list(drills: dict[str, Drill]) -> None:
    """The last day first, each answer counted once; no row is more than what was done on a day."""
    trials = [t for k in range(MOST_DATES + 5) for t in answer_days(drills["high_shelf_8k"], [LAST - k], 0.8)[:3]]
    rows = list_dates(drills, trials)
    assert rows[0] == ("2031-05-07", drills["high_shelf_8k"].title, "3", "headphones", "bundled songs")
    assert [row[0] for row in rows] == sorted((row[0] for row in rows), reverse=True)
    assert sum(int(row[2]) for row in rows) == len(trials)
    assert "5 earlier lines." in read(open_progress(drills, trials, "dates"))


def find_boxes(figure: Figure) -> list[tuple[float, float, float, float]]:
    """Give the edges of each label, a little inside the safe estimate of its width."""
    found = []
    for shape in figure.shapes:
        if isinstance(shape, Label):
            width = 0.9 * letter_width(shape.text, shape.size)
            left = shape.at[0] - {"left": 0.0, "middle": width / 2, "right": width}[shape.anchor]
            found.append((left, shape.at[1] - 0.75 * shape.size, left + width, shape.at[1]))
    return found


@pytest.mark.parametrize("size", [(548.0, 232.0), (700.0, 300.0), (380.0, 200.0)])
@pytest.mark.parametrize("days", [[0], [0, 1], [0, 3, 40], list(range(0, 900, 9))])
def test_the_picture_over_the_days(size: tuple[float, float], days: list[int], drills: dict[str, Drill]) -> None:
    """A mark to a day in its order, inside; the usual amount where it is; no two words touch, no one leaves."""
    drill = drills["high_shelf_8k"]
    own = [make_stored(drill, LAST + day, n, correct=n != 1) for day in days for n in range(3)]
    course = trace_course(drill, own, "headphones", "demo")
    figure = draw_course(course, *size)
    plot = [shape for shape in figure.shapes if isinstance(shape, Mark) and shape.at[1] < size[1] - 40]
    places = sorted({shape.at for shape in plot})
    assert len({x for x, _ in places}) == len(days) and all(0 < x < size[0] and 0 < y < size[1] for x, y in places)
    (band,) = (shape for shape in figure.shapes if isinstance(shape, Area) and len(shape.points) > 4)
    assert min(x for x, _ in band.points) <= places[0][0] and max(x for x, _ in band.points) >= places[-1][0]
    boxes = find_boxes(figure)
    for one, other in combinations(boxes, 2):
        assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
    assert all(left >= -4 and right <= size[0] + 4 and bottom <= size[1] + 1 for left, _, right, bottom in boxes)
    assert "usual" in [shape.text for shape in figure.shapes if isinstance(shape, Label)]


def test_all_thresholds_on_one_sheet(drills: dict[str, Drill]) -> None:
    """Blocks below each other, each with its conditions, each unit in its own group; told in words as well."""
    names = ("high_shelf_8k", "limiting", "saturation")
    trials = [t for name in names for t in answer_days(drills[name], [LAST], 0.8)]
    stood = [find_standing(drills[name], trials, "headphones", "demo", LAST) for name in names]
    figure = draw_sheet("What the ear can tell", [("headphones", stood), ("monitors", stood[:1])], 760.0)
    heights = {shape.text: shape.at[1] for shape in figure.shapes if isinstance(shape, Label) and shape.size > 14}
    assert heights["What the ear can tell"] < heights["headphones"] < heights["monitors"] < figure.height
    assert all(
        left >= -4 and right <= 764 and bottom <= figure.height + 1 for left, _, right, bottom in find_boxes(figure)
    )
    assert all(drills[name].title in figure.described for name in names) and "%" in figure.described


def test_in_a_terminal(drills: dict[str, Drill]) -> None:
    """Pictures are said, and numbers take the ways of looking."""
    drill = drills["high_shelf_8k"]
    program = open_progress(drills, answer_days(drill, [LAST - 1, LAST], 0.8))
    said = lead(program, ["[Over the days]", f"[{drill.title}]", "[Compared]", "[Dates]"])
    assert "2031-05-06" in said and "answers; set-up; music" in said and "No skill has been practised on two" in said
