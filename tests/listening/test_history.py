"""Histories of answers."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.errors import BadValue
from trainer.listening.history import Answer, claim_improvement, replay
from trainer.listening.listener import Listener
from trainer.listening.threshold import Scale, Track

SCALE = Scale(low=0.06, high=12.0, prior_median=1.5, amount_low=0.06, amount_high=12.0)


def _five_days(threshold: float, first_day: int, rng: np.random.Generator) -> list[Answer]:
    """Answer 30 trials about the threshold on each of five days, with good and bad days."""
    answers = []
    for day in range(first_day, first_day + 5):
        listener = Listener(threshold * 10 ** (0.05 * rng.standard_normal()))
        for amount in threshold * np.geomspace(0.7, 1.8, 30):
            correct = listener.answer(float(amount), "pick_of_three", rng)
            answers.append(Answer(day, float(amount), correct, "pick_of_three"))
    return answers


def test_replay_equals_living_through_it() -> None:
    """Rebuilt from its answers a track is the same to the last bit."""
    lived = Track.begin(SCALE)
    answers = []
    for day, away in ((100, 0), (101, 1), (115, 14)):
        lived = lived.after_days(away)
        for index in range(8):
            task = ("pick_of_three", "abx")[index % 2]
            amount = lived.next_amount(task)
            answers.append(Answer(day, amount, index % 3 > 0, task))
            lived = lived.after(amount, index % 3 > 0, task)
    assert replay(SCALE, iter(answers)).posterior.tobytes() == lived.posterior.tobytes()
    assert replay(SCALE, answers).trials == 24


def test_no_answers_leave_the_prior() -> None:
    """Somebody who never answered is somebody unknown."""
    np.testing.assert_array_equal(replay(SCALE, []).posterior, Track.begin(SCALE).posterior)


def test_refuses_answers_out_of_order() -> None:
    """The order of days decides what is blurred."""
    with pytest.raises(BadValue, match="day=4, expected 5 or later"):
        replay(SCALE, [Answer(5, 1.0, True, "abx"), Answer(4, 1.0, True, "abx")])


def test_claims_a_fall_to_a_half_and_not_a_standstill() -> None:
    """Of 10 known ears that halve their threshold 8 or more are told so, of 10 that do not 2 at most."""
    rng = np.random.default_rng(11)
    starts = 10 ** rng.uniform(-0.3, 0.5, 10)
    halved = [claim_improvement(SCALE, _five_days(t, 1, rng), _five_days(t / 2, 40, rng)) for t in starts]
    same = [claim_improvement(SCALE, _five_days(t, 1, rng), _five_days(t, 40, rng)) for t in starts]
    assert sum(found.claimed for found in halved) >= 8
    assert sum(found.claimed for found in same) <= 2
    assert all(found.claimed == (found.probability >= 0.95) for found in halved + same)


def test_a_block_against_its_copy_is_an_even_bet() -> None:
    """Two independent findings with one distribution: either is the lower with probability one half."""
    block = _five_days(1.0, 1, np.random.default_rng(3))
    copy = [Answer(answer.day + 10, answer.amount, answer.correct, answer.task) for answer in block]
    assert claim_improvement(SCALE, block, copy).probability == pytest.approx(0.5, abs=1e-12)


def test_the_two_directions_add_up_to_certainty() -> None:
    """P(now < then) + P(then < now) = 1."""
    rng = np.random.default_rng(4)
    worse, better = _five_days(2.0, 1, rng), _five_days(1.2, 1, rng)
    later = [[Answer(a.day + 10, a.amount, a.correct, a.task) for a in block] for block in (better, worse)]
    there = claim_improvement(SCALE, worse, later[0]).probability
    back = claim_improvement(SCALE, better, later[1]).probability
    assert there + back == pytest.approx(1.0, abs=1e-12)


def test_refuses_blocks_that_share_a_day_or_hold_nothing() -> None:
    """Blocks that overlap would share their luck."""
    day_one, day_two = [Answer(1, 1.0, True, "abx")], [Answer(2, 1.0, True, "abx")]
    with pytest.raises(BadValue, match="last_block=1"):
        claim_improvement(SCALE, day_one, day_one)
    with pytest.raises(BadValue, match="first_block=empty"):
        claim_improvement(SCALE, [], day_two)
