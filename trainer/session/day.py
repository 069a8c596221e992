"""Today's plan for a session, and whether it is time for a break."""

from __future__ import annotations

from trainer.exercise.pace import BREAK_AFTER_MINUTES, measure_stretch
from trainer.exercise.plan import DayPlan, plan_today
from trainer.session.world import World


def plan_day(world: World) -> DayPlan:
    """Plan today under the world's conditions."""
    return plan_today(world.list_standings(), world.store.list_trials(), world.today())


def find_break(world: World) -> float:
    """Give the minutes of practice without a pause once they call for a break; else 0."""
    minutes = measure_stretch(world.store.list_trials(), world.clock.now())
    return minutes if minutes >= BREAK_AFTER_MINUTES else 0.0
