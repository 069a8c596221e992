"""Which move is left out of the whole first: by construction of what is known of each."""

from __future__ import annotations

from dataclasses import replace

from tests.decisions.sheets import make_candidate, make_round
from trainer.decisions.sheet import VERDICTS
from trainer.decisions.whole_order import SURENESS, order_by_doubt


def test_the_least_sure_move_comes_first() -> None:
    """Against the ear, unheard, undecided, not told apart, preferred, measured as harmless; as they came if even."""
    verdicts = ("no_harm", "keep", "below_hearing", "not_settled", "untried", "leave")
    moves = tuple(make_candidate(verdict, verdict=verdict) for verdict in verdicts)
    assert [each.candidate for each in order_by_doubt(moves)] == list(reversed(verdicts))
    twins = tuple(make_candidate(name, verdict="untried") for name in ("first", "second"))
    assert order_by_doubt(twins) == twins and set(SURENESS) == set(VERDICTS)


def test_what_was_confirmed_more_is_left_out_later() -> None:
    """10 of 12 before 12 of 12, one day before two, and one that a later round went against before all of them."""
    ten, twelve = make_round(picked=10), make_round(picked=12)
    other_day, lost = replace(twelve, round="r2", day=twelve.day + 1), make_round(picked=1, round="r3")
    known = {"two_days": (twelve, other_day), "twelve": (twelve,), "ten": (ten,), "lost_one": (ten, lost)}
    moves = tuple(make_candidate(name, verdict="keep", rounds=rounds) for name, rounds in known.items())
    assert [each.candidate for each in order_by_doubt(moves)] == ["lost_one", "ten", "twelve", "two_days"]
