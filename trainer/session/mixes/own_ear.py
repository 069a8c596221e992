"""What a person's own ear is known to tell, beside a move that is weighed."""

from __future__ import annotations

import math

from trainer.decisions.sheet import Candidate
from trainer.exercise.history import Standing
from trainer.session.words import write_span
from trainer.session.world import World
from trainer.units import write_amount

PLACES = ("corner_hz", "centre_hz", "pivot_hz", "cutoff_hz")
# A drill whose corner lies further away than this, in octaves, tells nothing of a move.
FURTHEST_OCTAVES = 1.5


def describe_own_ear(candidate: Candidate, world: World) -> str:
    """Say what the ear tells of such a move, and where this one lies; empty where nothing is known of it."""
    alike = [
        standing
        for standing in world.list_standings()
        if standing.drill.move == candidate.move and standing.track.estimate().trials
    ]
    near = sorted(alike, key=lambda standing: _measure_distance(standing, candidate))
    if not near or _measure_distance(near[0], candidate) > FURTHEST_OCTAVES:
        return ""
    drill, estimate = near[0].drill, near[0].track.estimate()
    if drill.amount.unit != candidate.unit:
        return ""
    known = f"Your ear tells {drill.title.lower()} from {write_span(estimate, drill.amount.unit)} on."
    size = abs(candidate.amount)
    asked = f"{write_amount(size)} {candidate.unit}"
    if size < estimate.low:
        return f"{known} This move, {asked}, lies below that."
    if size > estimate.high:
        return f"{known} This move, {asked}, lies above that."
    return f"{known} This move, {asked}, lies at the edge of it."


def _measure_distance(standing: Standing, candidate: Candidate) -> float:
    """Measure how far a drill's frequency lies from a move's, in octaves; 0 where neither has one."""
    settings = standing.drill.settings
    for name in PLACES:
        if name in candidate.settings and name in settings:
            return abs(math.log2(settings[name] / candidate.settings[name]))
    return 0.0
