"""What rounds say of a candidate: keep, leave, not settled, or below the hearing of this person."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.decisions.round_verdicts import find_next, judge_apart, judge_preference
from trainer.decisions.rounds import Round
from trainer.decisions.sheet import CandidateKind, Verdict

# Of the two versions of a candidate's rounds, the song without it comes first.
WITHOUT, WITH_IT = 0, 1


def judge_candidate(rounds: Sequence[Round], kind: CandidateKind, measured: Verdict = "untried") -> Verdict:
    """Judge a candidate by the last sitting that was brought to an end.

    Parameters
    ----------
    rounds : sequence of Round
        Of this candidate, in their order; versions are the song without it and the song with it.
    kind : str
        ``taste`` is kept where it is preferred; ``hygiene`` does no harm where it is not told apart.
    measured : str
        What measurement said of a hygiene move, which stands until it has been heard.

    Returns
    -------
    str
        ``untried`` before a round is complete.
    """
    complete = [held for held in rounds if held.complete and held.kind != "sighted"]
    if kind == "hygiene":
        told = [judge_apart(held).apart for held in complete if held.kind == "apart"]
        return measured if not told else "harm" if told[-1] else "no_harm"
    for sitting in reversed(_split(complete)):
        found = _judge_sitting(sitting)
        if found != "untried":
            return found
    return "untried"


def _split(rounds: Sequence[Round]) -> list[list[Round]]:
    """Split rounds into sittings: one day on one set-up."""
    sittings: dict[tuple[int, str], list[Round]] = {}
    for held in rounds:
        sittings.setdefault((held.day, held.setup), []).append(held)
    return list(sittings.values())


def _judge_sitting(sitting: Sequence[Round]) -> Verdict:
    """Judge one sitting; undecided picks that were not followed up are not settled."""
    following = find_next(sitting, ("", ""))
    if following == "favourite":
        picks = [judge_preference(held).favourite for held in sitting if held.kind == "prefer"]
        return "keep" if picks[-1] == WITH_IT else "leave"
    if following == "not_apart":
        return "below_hearing"
    return "untried" if following == "prefer" else "not_settled"
