"""What the history tells, worded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations

from trainer.listening.history import CLAIM
from trainer.listening.threshold import Estimate
from trainer.session import intents, keys
from trainer.session.frame import make_place_frame
from trainer.session.pages import Choices, Items, PageView, Part, Picture, Prose, Sheet, Table
from trainer.session.progress_place import LOOKS, find_chosen, list_heard
from trainer.session.progress_place_charts import draw_course, draw_standings
from trainer.session.progress_place_facts import BLOCK_DAYS, MUSIC, count_confusions, list_dates
from trainer.session.progress_place_state import Compared, Course, Look
from trainer.session.state import State
from trainer.session.view import Button, Key, PlanItem
from trainer.session.words import count_words, describe_estimate, write_span
from trainer.session.world import World
from trainer.units import write_number

LABELS: dict[Look, str] = {
    "now": "Now",
    "days": "Over the days",
    "mixed": "Mixed up",
    "compared": "Compared",
    "dates": "Dates",
}
HEADLINES: dict[Look, str] = {
    "now": "Where your ears stand",
    "days": "Over the days",
    "mixed": "What was taken for what",
    "compared": "Set-ups and music compared",
    "dates": "What was practised when",
}
NOTHING = "Nothing has been practised yet. After the first answers this is where their thresholds stand."
ELSEWHERE = "Nothing here under these conditions yet. What was practised under others stands under Compared and Dates."
MOST_DATES = 60
CHART = (700.0, 300.0)
EARS_WIDTH = 840.0
LOOK_KEYS = Key(
    "1 2 3 4 5",
    "look in another way",
    tuple((str(number), intents.Do("look", look)) for number, look in enumerate(LOOKS, 1)),
)
OTHER = replace(keys.CHOOSE, does="another skill")
ALL_SKILLS = Key("Esc", "all skills", (("escape", intents.GoBack()),))
BACK = Key("Esc", "back to Today", (("escape", intents.GoBack()),))


def view_progress(state: State, world: World) -> PageView:
    """Word what is looked at; an empty history is an answer too."""
    look = state.progress.look
    if not world.store.list_trials():
        frame = make_place_frame(state, world, (BACK, keys.ALL_KEYS))
        today = Button("Go to Today", intents.GoTo("today"), main=True)
        return PageView(frame, "Progress", NOTHING, ((Choices((today,)),),))
    ways = tuple(Button(LABELS[way], intents.Do("look", way), selected=way == look) for way in LOOKS)
    frame = make_place_frame(state, world, _list_keys(state), _describe_conditions(world))
    word = {"now": _view_now, "days": _view_days, "mixed": _view_mixed, "compared": _view_compared}
    sentence, parts = word[look](state, world) if look in word else _view_dates(world)
    columns = ((Choices(ways), *parts),)
    return PageView(frame, HEADLINES[look], sentence, columns, busy=bool(state.progress.pending))


def _list_keys(state: State) -> tuple[Key, ...]:
    """Bind the keys of what is looked at."""
    if state.progress.look != "days":
        return LOOK_KEYS, BACK, keys.ALL_KEYS
    if state.progress.course is None:
        return LOOK_KEYS, keys.bind_enter("show it", intents.GoOn()), keys.CHOOSE, BACK, keys.ALL_KEYS
    return LOOK_KEYS, OTHER, ALL_SKILLS, keys.ALL_KEYS


def _describe_conditions(world: World) -> str:
    return f"{MUSIC[world.audio_class]} · set-up: {world.setup_in_force}"


def _view_now(state: State, world: World) -> tuple[str, tuple[Part, ...]]:
    """Show all thresholds under the conditions in force."""
    heard = {drill.drill for drill in list_heard(world)}
    standings = tuple(standing for standing in world.list_standings() if standing.drill.drill in heard)
    if not standings:
        return ELSEWHERE, ()
    return "A range widens while its skill is not practised.", (Picture(draw_standings(standings, EARS_WIDTH)),)


def _view_days(state: State, world: World) -> tuple[str, tuple[Part, ...]]:
    """Show one threshold over the days and whether it changed, or let a skill be chosen."""
    course = state.progress.course
    if course is None:
        return _view_skills(state, world)
    unit, last = course.drill.amount.unit, course.points[-1]
    parts = (
        Picture(draw_course(course, *CHART)),
        Prose(f"At the end of the last day: {describe_estimate(last.estimate, unit)}."),
        Prose(describe_change(course)),
    )
    others = Choices((Button("All skills", intents.Do("skills")),))
    return "", (Sheet(course.drill.title, parts, _describe_usual(course)), others)


def _view_skills(state: State, world: World) -> tuple[str, tuple[Part, ...]]:
    """Let a skill be chosen."""
    chosen = find_chosen(state, world)
    if chosen is None:
        return ELSEWHERE, ()
    standings = {standing.drill.drill: standing for standing in world.list_standings()}
    items = tuple(
        PlanItem(0, drill.title, "", write_span(standings[drill.drill].track.estimate(), drill.amount.unit), "",
                 intents.Do("skill", drill.skill), drill.skill == chosen.skill)
        for drill in list_heard(world)
    )  # fmt: skip
    return "One skill, day by day.", (Items(items),)


def _describe_usual(course: Course) -> str:
    amount = course.drill.amount
    source = f" ({amount.usual_source})" if amount.usual_source else ""
    return f"Amber: a usual amount{source}."


def describe_change(course: Course) -> str:
    """Say whether a threshold changed, only as far as two separate blocks of days carry it."""
    days, change = len(course.points), course.change
    if change is None:
        least = count_words(2 * BLOCK_DAYS)
        so_far = f"{count_words(days)} day{'s' if days != 1 else ''} of practice so far"
        return f"Whether it changed can be asked after {least} days of practice; {so_far}."
    blocks = f"Your last {count_words(BLOCK_DAYS)} days of practice against your first {count_words(BLOCK_DAYS)}"
    if change.claimed:
        return f"{blocks}: a lower threshold, with a probability of {_write_probability(change.probability)}."
    if 1.0 - change.probability >= CLAIM:
        return f"{blocks}: a higher threshold, with a probability of {_write_probability(1.0 - change.probability)}."
    return f"{blocks}: whether it changed cannot be told yet."


def _write_probability(probability: float) -> str:
    """Write a probability of 0.95 or more to two decimals, never as certain."""
    return write_number(probability, 2) if probability < 0.995 else "more than 0.99"


def _view_mixed(state: State, world: World) -> tuple[str, tuple[Part, ...]]:
    """Show what was taken for what."""
    found = count_confusions(world.drills, world.store.list_trials(), world.setup_in_force)
    if not found:
        return "Where a change had to be named, nothing was taken for something else on this set-up so far.", ()
    rows = tuple((each.was, each.said, f"{each.count} of {each.asked}") for each in found)
    return "Where a change had to be named, on this set-up.", (Table(("it was", "you said", "times"), rows),)


def _view_compared(state: State, world: World) -> tuple[str, tuple[Part, ...]]:
    """Show set-ups and kinds of music beside each other."""
    progress = state.progress
    if progress.pending:
        return f"Being worked out; {len(progress.pending)} to go.", ()
    parts: list[Part] = []
    for title, compared in (("Set-ups, with the same music", progress.setups),
                            ("Own mixes and bundled songs, on the same set-up", progress.music)):  # fmt: skip
        if compared:
            rows = tuple(row for each in compared for row in _word_compared(each))
            parts.append(Sheet(title, (Table(("", "", "95 % range"), rows),)))
    if not parts:
        return "No skill has been practised on two set-ups, or with own mixes as well as bundled songs.", ()
    sentence = "A difference is named only where the 95 % ranges do not touch."
    if not any(describe_difference(each.others) for each in (*progress.setups, *progress.music)):
        sentence += " Here none can be told yet."
    return sentence, tuple(parts)


def _word_compared(each: Compared) -> list[tuple[str, ...]]:
    """Give a line to each condition, and one for what can be said of them."""
    unit = each.drill.amount.unit
    rows: list[tuple[str, ...]] = [
        (f"{each.drill.title}, {each.same}" if number == 0 else "", name, write_span(estimate, unit))
        for number, (name, estimate) in enumerate(each.others)
    ]
    difference = describe_difference(each.others)
    return [*rows, *([("", "", difference)] if difference else [])]


def describe_difference(others: Sequence[tuple[str, Estimate]]) -> str:
    """Say under which conditions a threshold is lower, where the ranges lie apart; else nothing."""
    lower = [
        f"lower: {name}"
        for (name, estimate), (_, against) in permutations(others, 2)
        if estimate.edge != "high" and against.edge != "low" and estimate.high < against.low
    ]
    return "; ".join(dict.fromkeys(lower))


def _view_dates(world: World) -> tuple[str, tuple[Part, ...]]:
    """List the days."""
    rows = list_dates(world.drills, world.store.list_trials())
    parts: list[Part] = [Table(("date", "drill", "answers", "set-up", "music"), rows[:MOST_DATES])]
    if len(rows) > MOST_DATES:
        parts.append(Prose(f"{len(rows) - MOST_DATES} earlier lines.", "small"))
    told = "In a terminal, evenhand progress --csv FILE writes thresholds by day, --json all that is known."
    parts.append(Prose(told, "small"))
    return "", tuple(parts)
