"""The first screen: the plan of the day and where the ear stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trainer.exercise.forms import FORMS
from trainer.exercise.history import Standing
from trainer.exercise.plan import DayPlan, PlanLine
from trainer.exercise.quantities import name_amount
from trainer.session import intents, keys, words
from trainer.session.axes import ratio_ticks
from trainer.session.day import find_break, plan_day
from trainer.session.ear_rows import EarGroup, EarRow, ear_rows
from trainer.session.figure import Figure
from trainer.session.frame import make_place_frame
from trainer.session.intents import Intent
from trainer.session.plan_words import describe_break, describe_choice, describe_length, describe_line
from trainer.session.state import State
from trainer.session.training import start_drill
from trainer.session.view import Button, PlanItem, TodayView
from trainer.session.world import World

EARS_WIDTH = 412.0
MOST_EARS = 7
FAR = 100.0
MOST_TICKS = 8


def view_today(state: State, world: World) -> TodayView:
    """Word the first screen."""
    standings, plan = world.list_standings(), plan_day(world)
    names = tuple(line.standing.drill.drill for line in plan.lines)
    chosen = state.chosen if state.chosen in names else next(iter(names), "")
    frame = make_place_frame(state, world, keys.list_today_keys(names), _describe_conditions(world))
    minutes, choice = find_break(world), describe_choice(plan)
    return TodayView(
        frame=frame,
        headline=f"{world.clock.now():%A}. {'Time for a break.' if minutes else describe_length(plan)}",
        sentence=f"{describe_break(minutes)} {choice}" if minutes else choice,
        items=tuple(_make_item(number, line, chosen) for number, line in enumerate(plan.lines, 1)),
        start=Button("Start", intents.StartDrill(chosen), main=not minutes),
        ears_title="What your ears can tell",
        ears=draw_ears(choose_ears(standings, plan), EARS_WIDTH),
        caution=words.CAUTION_LINE,
    )


def act_on_today(state: State, intent: Intent, world: World) -> State | None:
    """Start a drill of the plan, or choose another line of it."""
    if isinstance(intent, intents.StartDrill):
        return start_drill(state, intent.drill, world)
    if isinstance(intent, intents.GoOn):
        names = [line.standing.drill.drill for line in plan_day(world).lines]
        wished = state.chosen or next(iter(names), "")
        return start_drill(state, wished, world) if wished else state
    if isinstance(intent, intents.ListenOther):
        return _choose(state, intent.step, world)
    return None


def _choose(state: State, step: int, world: World) -> State:
    """Choose another line of the plan."""
    names = [line.standing.drill.drill for line in plan_day(world).lines]
    place = names.index(state.chosen) if state.chosen in names else 0
    return replace(state, chosen=names[(place + step) % len(names)]) if names else state


def choose_ears(standings: Sequence[Standing], plan: DayPlan) -> tuple[Standing, ...]:
    """Choose the skills to show: today's, then what was practised last, as far as there is room, in their order.

    Parameters
    ----------
    standings : sequence of Standing
        One to a drill.
    plan : DayPlan
        Today's plan.

    Returns
    -------
    tuple of Standing
        One to a skill, only of drills that look for a threshold.
    """
    planned = {line.standing.drill.drill: place for place, line in enumerate(plan.lines)}
    seeking = [each for each in standings if FORMS[each.drill.form].placement == "threshold"]
    heard = [each for each in seeking if each.drill.drill in planned or each.track.trials]
    ranked = sorted(heard, key=lambda each: (planned.get(each.drill.drill, len(planned)), -(each.last_day or 0)))
    skills: dict[str, Standing] = {}
    for each in ranked:
        skills.setdefault(each.drill.skill, each)
    kept = list(skills.values())[:MOST_EARS]
    return tuple(each for each in standings if each in kept)


def draw_ears(standings: Sequence[Standing], width: float) -> Figure:
    """Draw a row for every skill, in blocks of one family and one kind of amount."""
    groups: dict[tuple[str, str], list[Standing]] = {}
    for each in standings:
        kind = name_amount(each.drill.move, each.drill.amount.unit)
        groups.setdefault((each.drill.subject, kind), []).append(each)
    return ear_rows([_make_group(own) for own in groups.values()], width)


def _make_group(own: Sequence[Standing]) -> EarGroup:
    first = own[0].drill
    ticks = ratio_ticks(min(s.drill.amount.low for s in own), max(s.drill.amount.high for s in own), MOST_TICKS)
    kind, usual = name_amount(first.move, first.amount.unit), first.amount.usual
    return EarGroup(first.subject, kind, usual, ticks, tuple(_make_row(s) for s in own))


def _make_row(standing: Standing) -> EarRow:
    estimate = standing.track.estimate()
    heard = estimate.trials > 0
    # A bound that is only the end of what can be tested is drawn as an arrow out of the axis.
    low = estimate.low / FAR if estimate.edge == "low" else estimate.low
    high = estimate.high * FAR if estimate.edge == "high" else estimate.high
    median, usual = estimate.median if heard else None, standing.drill.amount.usual
    return EarRow(standing.drill.title, median, low, high, estimate.settled, usual)


def _make_item(number: int, line: PlanLine, chosen: str) -> PlanItem:
    drill = line.standing.drill
    detail, amount, note = describe_line(line)
    return PlanItem(
        number,
        drill.title,
        detail,
        amount,
        note,
        intents.StartDrill(drill.drill),
        selected=drill.drill == chosen,
    )


def _describe_conditions(world: World) -> str:
    """Name the music and the set-up that answers count for."""
    music = world.song_title or "bundled music"
    return f"{music} · set-up: {world.setup_in_force}"
