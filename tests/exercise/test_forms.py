"""Forms of question: laid out fairly, read strictly, judged by the book."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from scipy.stats import kendalltau, norm

from trainer.dsp.move import Effect
from trainer.errors import BadValue, NotReachable
from trainer.exercise.drill import Choice, Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.forms.marking import Mark, judge_marks
from trainer.exercise.forms.ordering import count_inversions
from trainer.listening.links import LINKS

TYPED = {"set_release": "120", "mark_the_moment": "12.4 boost"}
CHOICES = tuple(
    Choice(answer, words, "high_shelf", {"corner_hz": 4000.0}, share)
    for answer, words, share in (("boost", "a boost", 1.0), ("cut", "a cut", -1.0))
)


@pytest.fixture
def drill(drills: dict[str, Drill]) -> Drill:
    """Give a drill that every form can be put with."""
    plain = drills["high_shelf_8k"]
    return replace(plain, choices=CHOICES, rungs=(1.0, 2.0, 3.0, 4.0, 6.0, 8.0), anchor=6.0)


def list_effects(count: int) -> list[Effect | None]:
    """Give what a compressor shows from a fast to a slow release: ever less gain back, ever smoother bass.

    And what is measured against a reference: one version further from it than the other.
    """
    away = {"nearer_distance_db": 1.0, "further_distance_db": 2.0}
    figures = [
        {"recovery_between_hits_percent": 80.0 - 8 * n, "roughness_on_bass_db": -20.0 - 5 * n, **away}
        for n in range(20)
    ]
    return [None, *(Effect(3.0, each) for each in figures[: count - 1])]


@pytest.mark.parametrize("name", sorted(FORMS))
def test_every_layout_can_be_answered(name: str, drill: Drill) -> None:
    """The right answer can be read and is right; each version has a label; the target is a processed one."""
    form = FORMS[name]
    for seed in range(40):
        layout = form.lay_out(drill, 3.0, np.random.default_rng(seed))
        layout = form.settle(layout, list_effects(len(layout.takes)))
        if name == "mark_the_moment":
            layout = replace(layout, right_answer="30.00 | 12.40 boost")
        assert len(layout.labels) == len(layout.takes) and layout.takes[layout.target].processed
        assert 1 <= layout.numbered <= 8
        answer = form.read_answer(TYPED.get(name, layout.right_answer or "1"), layout)
        grade = form.grade(answer, layout, drill)
        assert grade.words and 0.0 <= grade.score <= 1.0
        assert grade.correct is (None if not layout.right_answer else True)


@pytest.mark.parametrize("name", sorted(FORMS))
@pytest.mark.parametrize("text", ["", "99", "nothing", "1 1 1 1", "\u221e", "nan"])
def test_answers_that_are_no_answers_are_refused_in_one_line(name: str, text: str, drill: Drill) -> None:
    """By contract: a line for the person, and the question stays."""
    layout = FORMS[name].lay_out(drill, 3.0, np.random.default_rng(1))
    if text in ("", "99") and name in ("how_much", "set_release", "mark_the_moment") and (text or name[0] == "m"):
        return
    with pytest.raises(BadValue) as caught:
        FORMS[name].read_answer(text, layout)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ["pick_of_two", "pick_of_three", "oddity", "abx", "name_it", "against_reference"])
def test_right_answers_are_spread_evenly_and_guessing_stays_at_chance(name: str, drill: Drill) -> None:
    """Chi-squared of 3000 layouts below its 99.9 % point (10.8 and 13.8 for 1 and 2 degrees of freedom).

    A listener who always says the same is right as often as the form's link says of guessing.
    """
    form = FORMS[name]
    right = Counter(form.lay_out(drill, 3.0, np.random.default_rng([7, n])).right_answer for n in range(3000))
    expected = 3000 / len(right)
    statistic = sum((count - expected) ** 2 / expected for count in right.values())
    assert statistic < {2: 10.8, 3: 13.8}[len(right)]
    task = form.task(drill)
    assert task is not None and LINKS[task].guess == pytest.approx(1 / len(right))


def test_oddity_goes_either_way_round(drill: Drill) -> None:
    """Two processed and one as it is, as often as the other way: within four standard deviations of a half."""
    counts = [
        sum(take.processed for take in FORMS["oddity"].lay_out(drill, 3.0, np.random.default_rng([3, n])).takes)
        for n in range(1000)
    ]
    assert set(counts) == {1, 2}
    assert abs(counts.count(1) - 500) < 4 * np.sqrt(250)


def test_inversions_are_kendalls() -> None:
    """Against scipy's Kendall tau, which is 1 - 4 d / (n (n - 1)) for d inversions, over all orders of four."""
    right = ["1", "2", "3", "4"]
    for order in permutations(right):
        tau = kendalltau([right.index(x) for x in order], range(4)).statistic
        assert count_inversions(list(order), right) == pytest.approx((1 - tau) * 3)


def test_an_order_is_judged_by_its_pairs(drill: Drill) -> None:
    """The whole the wrong way round scores nothing; one neighbouring pair costs a sixth of four rungs."""
    form = FORMS["put_in_order"]
    layout = form.lay_out(drill, 3.0, np.random.default_rng(5))
    right = layout.right_answer.split()
    amounts = [layout.takes[int(number) - 1].amount for number in right]
    assert amounts == sorted(amounts)
    assert form.grade(" ".join(reversed(right)), layout, drill).score == 0.0
    swapped = [right[1], right[0], *right[2:]]
    assert form.grade(" ".join(swapped), layout, drill).score == pytest.approx(5 / 6)


def test_a_control_tells_nothing_by_its_place(drill: Drill) -> None:
    """Neither the middle nor an end is right more often than others: every place that leaves room is met."""
    places = Counter()
    for seed in range(600):
        layout = FORMS["match_by_ear"].lay_out(drill, 4.0, np.random.default_rng(seed))
        places[layout.control.index(4.0)] += 1
        assert layout.find_sound(1, 0) == 0
        assert layout.takes[layout.find_sound(2, 3)].amount == layout.control[3]
    # Of thirteen steps of 0.75 dB between 0.25 and 12 dB, four places leave room on both sides of 4 dB.
    assert sorted(places) == [2, 3, 4, 5] and max(places.values()) < 1.5 * min(places.values())


def test_marks_are_counted_as_by_hand() -> None:
    """Worked by hand: three faults, one marked in time, one too late, one of another kind; one mark too many.

    d' by the log-linear rule: z((1 + 0.5) / (3 + 1)) - z((3 + 0.5) / (37 + 1)), with 60 s / 1.5 s - 3 = 37 moments.
    """
    faults = [Mark(10.0, "click"), Mark(20.0, "hum"), Mark(30.0, "click")]
    marks = [Mark(10.9, "click"), Mark(22.0), Mark(30.5, "hum"), Mark(50.0)]
    judged = judge_marks(marks, faults, 60.0, delay_s=0.4)
    assert (judged.hits, judged.misses, judged.false_alarms) == (1, 2, 3)
    assert judged.found == (True, False, False)
    assert judged.lateness_s == pytest.approx(0.5)
    assert judged.d_prime == pytest.approx(norm.ppf(1.5 / 4) - norm.ppf(3.5 / 38))


def test_the_release_window_is_cut_by_both_sides(drill: Drill) -> None:
    """By hand: 80, 72, 64, 56 % come back at 20, 50, 120, 300 ms; three quarters of 80 are 60.

    Ripples are -20, -25, -30, -35 dB; -28 dB is the most. So only 120 ms fits.
    """
    form = FORMS["set_release"]
    layout = form.settle(form.lay_out(drill, 4.0, np.random.default_rng(1)), list_effects(8))
    assert layout.right_answer == "120 120" and layout.control[layout.target - 1] == 120.0
    assert form.grade("120", layout, drill).correct is True
    near, far = (form.grade(text, layout, drill) for text in ("150", "1200"))
    assert near.correct is False and near.score > far.score and far.error == 1080.0
    flat = [None, *(Effect(3.0, {"recovery_between_hits_percent": 50.0}) for _ in range(7))]
    with pytest.raises(NotReachable, match="releases_that_fit=7"):
        form.settle(form.lay_out(drill, 4.0, np.random.default_rng(1)), flat)


def test_marks_are_read_in_any_order_and_written_in_one_way(drill: Drill) -> None:
    """By contract: seconds with or without a name, semicolons between; `none` for none."""
    form = FORMS["mark_the_moment"]
    layout = form.lay_out(drill, 4.0, np.random.default_rng(1))
    assert form.read_answer("20,5 cut; 3.1", layout) == "3.10; 20.50 cut"
    assert form.read_answer("none", layout) == form.read_answer("", layout) == "none"
    settled = replace(layout, right_answer="30.00 | 3.00 boost; 20.00 cut")
    grade = form.grade("3.10; 20.50 cut", settled, drill)
    assert grade.correct is True and grade.error == pytest.approx(0.3)
    assert form.grade("none", replace(layout, right_answer="30.00 | none"), drill).correct is True
    assert form.grade("1.0; 3.1", settled, drill).correct is False
