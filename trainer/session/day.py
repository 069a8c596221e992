"""Today's plan for a session, and whether it is time for a break."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.exercise.curriculum import PICKS
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.history import Standing
from trainer.exercise.pace import BREAK_AFTER_MINUTES, measure_stretch
from trainer.exercise.plan import DayPlan, plan_today
from trainer.session.world import World

MOST_OFFERED = 3


def plan_day(world: World) -> DayPlan:
    """Plan today under the world's conditions."""
    standings = world.list_standings()
    needs = find_needs(standings, world.projects.list_unsettled())
    return plan_today(standings, world.store.list_trials(), world.today(), needs=needs)


def find_needs(standings: Sequence[Standing], unsettled: Sequence[tuple[str, str]]) -> dict[str, str]:
    """Find the skill that each unsettled move of a decision sheet calls for, and say what for.

    Of the drills that ask for such a move by a threshold, the first one counts.
    """
    needs: dict[str, str] = {}
    for move, project in unsettled:
        drills = (each.drill for each in standings if each.drill.move == move)
        found = next((drill for drill in drills if FORMS[drill.form].placement == "threshold"), None)
        if found is not None:
            needs.setdefault(found.skill, f"for {project}")
    return needs


def list_others(world: World, failed: Sequence[str]) -> tuple[Drill, ...]:
    """List up to three drills to offer where others could not be put: the plan's first, none with a failed move."""
    planned = [line.standing.drill for line in plan_day(world).lines]
    plain = [drill for drill in world.drills.values() if drill.form in PICKS and world.plays(drill.drill)]
    moves = {world.drills[name].move for name in failed}
    others = {each.drill: each for each in (*planned, *plain) if each.drill not in failed and each.move not in moves}
    return tuple(others.values())[:MOST_OFFERED]


def find_break(world: World) -> float:
    """Give the minutes of practice without a pause once they call for a break; else 0."""
    minutes = measure_stretch(world.store.list_trials(), world.clock.now())
    return minutes if minutes >= BREAK_AFTER_MINUTES else 0.0
