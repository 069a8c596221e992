"""The first screen: the plan of the day and where the ear stands."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.exercise.history import Standing
from trainer.exercise.plan import PlanLine, plan_today
from trainer.session import intents, keys, words
from trainer.session.ear_rows import EarGroup, EarRow, ear_rows
from trainer.session.figure import Figure
from trainer.session.frame import make_frame
from trainer.session.state import State
from trainer.session.view import Button, PlanItem, TodayView
from trainer.session.world import World

EARS_WIDTH = 412.0
# Axis of each subject's block: title of the unit and ticks, by the unit's usual amounts.
AXES = {
    "Equaliser": ("gain, dB", (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)),
    "Dynamics": ("gain reduction, dB", (0.5, 1.0, 2.0, 4.0, 8.0)),
}
FAR = 100.0
OTHER_TICKS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)


def view_today(state: State, world: World) -> TodayView:
    """Word the first screen."""
    standings = world.list_standings()
    plan = plan_today(standings, world.today())
    names = tuple(line.standing.drill.drill for line in plan)
    chosen = state.chosen if state.chosen in names else names[0]
    frame = make_frame(state, world, "", "", keys.list_today_keys(names), footer=_describe_conditions(world))
    return TodayView(
        frame=frame,
        headline=f"{world.clock.now():%A}. {words.describe_plan_length(plan)}",
        sentence=words.describe_choice(plan),
        items=tuple(_make_item(number, line, chosen) for number, line in enumerate(plan, 1)),
        start=Button("Start", intents.StartDrill(chosen), main=True),
        ears_title="What your ears can tell",
        ears=draw_ears(standings, EARS_WIDTH),
        caution=words.CAUTION_LINE,
    )


def draw_ears(standings: Sequence[Standing], width: float) -> Figure:
    """Draw a row for every skill, in blocks of one unit."""
    subjects = list(dict.fromkeys(standing.drill.subject for standing in standings))
    return ear_rows([_make_group(subject, standings) for subject in subjects], width)


def _make_group(subject: str, standings: Sequence[Standing]) -> EarGroup:
    own = [standing for standing in standings if standing.drill.subject == subject]
    unit_text, ticks = AXES.get(subject, (own[0].drill.amount.unit, OTHER_TICKS))
    return EarGroup(subject, unit_text, own[0].drill.amount.usual, ticks, tuple(_make_row(s) for s in own))


def _make_row(standing: Standing) -> EarRow:
    estimate = standing.track.estimate()
    heard = estimate.trials > 0
    # A bound that is only the end of what can be tested is drawn as an arrow out of the axis.
    low = estimate.low / FAR if estimate.edge == "low" else estimate.low
    high = estimate.high * FAR if estimate.edge == "high" else estimate.high
    return EarRow(standing.drill.title, estimate.median if heard else None, low, high, estimate.settled)


def _make_item(number: int, line: PlanLine, chosen: str) -> PlanItem:
    drill = line.standing.drill
    detail, amount, note = words.describe_plan(line)
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
