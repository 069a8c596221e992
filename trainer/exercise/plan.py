"""What to do today: one skill in depth, short looks at others, each with its reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from trainer.exercise.history import Standing

SHORT_LOOK_TRIALS = 10
MOST_LINES = 3
SECONDS_A_TRIAL = 12.0

Reason = Literal["new", "uncertain", "overdue", "weak", "done"]


@dataclass(frozen=True)
class PlanLine:
    """One drill of the plan, how many trials, and why."""

    standing: Standing
    trials: int
    reason: Reason
    days_since: int | None


def plan_today(standings: Sequence[Standing], today: int) -> tuple[PlanLine, ...]:
    """Choose today's drills: never practised first, then what is least certain, then what waited longest.

    What was practised today comes last, and once a drill was, the others are short looks.

    Parameters
    ----------
    standings : sequence of Standing
        One to a drill, on the set-up in use.
    today : int
        Ordinal of today.

    Returns
    -------
    tuple of PlanLine
        Up to three; the first one in depth.
    """
    ranked = sorted(standings, key=lambda standing: -_urgency(standing, today))
    begun = any(standing.last_day == today for standing in standings)
    return tuple(
        PlanLine(
            standing,
            standing.drill.trials if place == 0 and not begun else min(SHORT_LOOK_TRIALS, standing.drill.trials),
            _find_reason(standing, today),
            None if standing.last_day is None else today - standing.last_day,
        )
        for place, standing in enumerate(ranked[:MOST_LINES])
    )


def _urgency(standing: Standing, today: int) -> float:
    """Width of the interval in octaves, and a little for every day that passed."""
    if standing.last_day is None:
        return 100.0
    if standing.last_day == today:
        return -1.0
    waited = min(today - standing.last_day, 30)
    return float(2 * (standing.track.estimate().half_width_ratio - 1)) + 0.1 * waited


def _find_reason(standing: Standing, today: int) -> Reason:
    """Name the main reason."""
    if standing.last_day is None:
        return "new"
    if standing.last_day == today:
        return "done"
    estimate = standing.track.estimate()
    if not estimate.settled:
        return "uncertain"
    return "overdue" if today - standing.last_day >= 3 else "weak"
