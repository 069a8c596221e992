"""In which order moves are left out of the whole, one at a time: the one that is least sure first."""

from __future__ import annotations

from collections.abc import Iterable

from trainer.decisions.candidate_verdicts import WITH_IT
from trainer.decisions.round_verdicts import confirm, judge_preference
from trainer.decisions.sheet import Candidate, Verdict

# Kept against the ear; unheard; undecided; what nobody hears alone may still be part of a sum; preferred; and last what
# is meant to be inaudible and was measured to be harmless.
SURENESS: dict[Verdict, int] = {
    "harm": 0, "leave": 0, "untried": 1, "not_settled": 2, "below_hearing": 3, "keep": 4, "no_harm": 5,
}  # fmt: skip


def order_by_doubt(kept: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """Order kept moves, the least sure first.

    Parameters
    ----------
    kept : iterable of Candidate
        In the order of the chain, which stands where two are as sure.

    Returns
    -------
    tuple of Candidate
        By what the ear said; of two that were preferred, first the one that some round went against, then that of
        fewer days, of fewer rounds, and of fewer picks in its last round.
    """
    return tuple(sorted(kept, key=lambda each: (SURENESS[each.verdict], *_count_confirmed(each))))


def _count_confirmed(candidate: Candidate) -> tuple[int, int, int, int]:
    """Count what confirms a move: rounds against it as less than none, days, rounds, and picks of the last round."""
    won = [
        held
        for held in candidate.rounds
        if held.kind == "prefer" and held.complete and judge_preference(held).favourite == WITH_IT
    ]
    if not won:
        return 0, 0, 0, 0
    found = confirm(candidate.rounds, won[-1].versions[WITH_IT])
    return -found.against, found.days, found.rounds, won[-1].count_picks(WITH_IT)
