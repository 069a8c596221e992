"""What runs without a threshold tell: a result in the head, no claim from a few answers, nouns by their count."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import make_trial, make_world
from tests.ui.reached_trials import reach_runs
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.forms.amounts import describe_error, word_amount
from trainer.exercise.forms.form import Grade
from trainer.exercise.trial import Outcome, TrialSpec
from trainer.session.ear_panels import INTERRUPTED, NO_PICTURE, describe_ear, draw_ear
from trainer.session.form_words import describe_so_far
from trainer.session.pages import View
from trainer.session.run import Run, begin_run
from trainer.session.summaries import describe_result, describe_run
from trainer.session.view import EndView, RevealView, TrialView
from trainer.session.words import describe_balance


def make_run(drill: Drill, grades: list[Grade], drills: dict[str, Drill]) -> Run:
    """Give a run whose answers were judged so."""
    outcomes = tuple(Outcome(str(n), n, 2.0, 2.0, "1", "1", grade, 5.0, scored=True) for n, grade in enumerate(grades))
    run = begin_run(make_world(drills).find_standing(drill.drill), 1, len(grades), with_examples=False)
    return replace(run, outcomes=outcomes)


def find_drill(form: str, drills: dict[str, Drill]) -> Drill:
    """Give the first drill of a form."""
    return next(drill for drill in drills.values() if drill.form == form)


@pytest.fixture(scope="module")
def reached(request: pytest.FixtureRequest) -> dict[str, View]:
    """Give every view of a run, by its name."""
    return dict(reach_runs(request.getfixturevalue("drills")))


def off(*errors: float) -> list[Grade]:
    """Give judgements of amounts that were off by so much."""
    return [Grade(abs(error) < 0.5, 0.5, error, "") for error in errors]


def test_a_few_answers_tell_about_themselves_only(drills: dict[str, Drill]) -> None:
    """Five answers make a habit (common practice, no source); fewer have neither a usual error nor a scatter."""
    drill = find_drill("how_much", drills)
    for errors in ([1.2], [1.2, -0.4], [1.2, -0.4, 0.0, 0.3]):
        run = make_run(drill, off(*errors), drills)
        said = " ".join((describe_result(run), *describe_run(run), describe_so_far(run)))
        assert "usual" not in said and "scatter" not in said and "average" not in said
    assert describe_so_far(make_run(drill, off(1.2), drills)) == "This time 1.2 dB too much."
    assert describe_so_far(make_run(drill, off(0.02), drills)) == "This time just right."


def test_a_habit_is_its_mean_size_and_the_side_of_most(drills: dict[str, Drill]) -> None:
    """Worked by hand: 1, 2, 1, 1, −1 dB are 1.2 dB off in size, four of five to one side, 0.8 dB on average."""
    drill = find_drill("how_much", drills)
    run = make_run(drill, off(1.0, 2.0, 1.0, 1.0, -1.0), drills)
    assert describe_result(run) == "You are usually 1.2 dB off, mostly too much."
    assert "On average you are 0.80 dB too much" in " ".join(describe_run(run))
    even = make_run(drill, off(1.0, -1.0, 1.0, -1.0, 1.0, -1.0), drills)
    assert describe_result(even) == "You are usually 1.0 dB off, now over, now under."


@pytest.mark.parametrize(("error", "said"), [(1.2, "1.2 dB too much"), (-0.4, "0.40 dB too little"), (0.04, "")])
def test_an_error_has_a_side_in_words(error: float, said: str) -> None:
    """By the meaning of its sign: more than there was is too much."""
    assert describe_error(error, "dB") == said


@pytest.mark.parametrize("count", [1, 2])
def test_results_stand_in_the_head_with_nouns_by_their_count(count: int, drills: dict[str, Drill]) -> None:
    """No counter, no name of a form, and what is said in the head is not said again below it."""
    right = [Grade(True, 1.0, None, "")] * count
    for form, head in (
        ("mark_the_moment", f"{count} of {count} pass{'es' if count > 1 else ''} without a mistake."),
        ("abx", f"X: {count} of {count} right."),
        ("set_release", f"The release fitted: {count} of {count}."),
        ("put_in_order", f"All in order: {count} of {count}."),
    ):
        run = make_run(find_drill(form, drills), right, drills)
        assert describe_result(run) == head
        assert head not in describe_run(run) and describe_run(run)
    odds = " ".join(describe_run(make_run(find_drill("abx", drills), right, drills)))
    assert ("half the time" in odds) == (count == 1)


@pytest.mark.parametrize(("late_s", "told"), [(0.0, False), (0.04, False), (0.4, True)])
def test_marks_in_time_are_not_called_late(late_s: float, told: bool, drills: dict[str, Drill]) -> None:
    """A tenth of a second is less than a person's own delay from sound to key (0.15 s and more, from memory)."""
    run = make_run(find_drill("mark_the_moment", drills), [Grade(True, 1.0, late_s, "")], drills)
    assert ("after what they belong to" in " ".join(describe_run(run))) == told


def test_no_end_counts_what_was_done(reached: dict[str, View]) -> None:
    """By contract: the head of an end is a result in every form."""
    for form in FORMS:
        end = reached[f"{form}-end"]
        assert isinstance(end, EndView) and end.sentences
        assert not end.headline.endswith("done.") and end.headline not in end.sentences


def test_versions_are_named_as_the_question_named_them(reached: dict[str, View]) -> None:
    """X stays X; a control's version is its setting, and so is its receipt; a pass is no version."""
    question, shown = reached["abx-question"], reached["abx-reveal"]
    assert isinstance(question, TrialView) and [each.label for each in question.versions] == ["1", "2", "X"]
    assert isinstance(shown, RevealView)
    assert shown.versions[2].label.startswith("X · the same as ") and all("·" in v.label for v in shown.versions[:3])
    release = reached["set_release-reveal"]
    assert isinstance(release, RevealView)
    assert release.versions[1].label == "Version 2 · release 300 ms" and release.headline.startswith("No. 300 ms;")
    assert release.receipt_title.startswith("Receipt of release 120 ms:") and "release 120 ms" in release.done_title
    passed = reached["mark_the_moment-reveal"]
    assert isinstance(passed, RevealView)
    assert passed.versions[0].label == "The pass" and passed.receipt_title.startswith("Receipt of the pass:")
    assert passed.headline == "Yes. A click at 3.2 s. You marked it."


def test_an_interrupted_answer_says_so_where_no_picture_of_the_ear_stands(drills: dict[str, Drill]) -> None:
    """By contract: what does not count is told in every form."""
    run = make_run(find_drill("abx", drills), [Grade(True, 1.0, None, "")], drills)
    assert draw_ear(run, 548.0, 232.0) == NO_PICTURE and describe_ear(run, scored=False) == INTERRUPTED


def test_one_version_is_not_called_all(drills: dict[str, Drill]) -> None:
    """One is neither both nor all."""
    trial = make_trial(TrialSpec(drills["high_shelf_8k"], 1, 0, 2.0), 2)
    alone = replace(trial, layout=replace(trial.layout, takes=trial.layout.takes[:1]))
    assert describe_balance(trial).startswith(("all at ", "both at ")) and describe_balance(alone).startswith("at ")


def test_exact_amounts_are_written_without_false_digits(drills: dict[str, Drill]) -> None:
    """Four is four, and nothing is none, as in the labels beside it."""
    drill = find_drill("how_much", drills)
    assert [word_amount(amount, drill) for amount in (0.0, 4.0, 1.3)] == ["none", "4 dB", "1.3 dB"]
