"""The list of all drills, worded: families first, then one family or what was found, and what a drill is about."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.exercise.curriculum import needs_parts, needs_reference
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.history import Standing
from trainer.exercise.pace import estimate_seconds
from trainer.session import intents, keys, words
from trainer.session.drills_place import find_chosen, list_families, list_shown, shows_families
from trainer.session.frame import make_place_frame
from trainer.session.pages import Choices, Entry, Items, PageView, Part, Prose, Sheet
from trainer.session.state import State
from trainer.session.view import Button, Key, PlanItem
from trainer.session.world import World
from trainer.units import begin_large, begin_small

HINT = "a sound, a subject or a unit: air, click, limiting, 8 kHz"
MOST_FOUND = 20
NOT_PLAYED = {"low": "this set-up does not play the lowest bass", "top": "this set-up does not play the highest top"}
ASKS_FIRST = {"low": "asks first for the lowest bass", "top": "asks first for the highest top"}
CLEAR = Key("Esc", "clear the line", (("escape", intents.GoBack()),))
BACK = Key("Esc", "all families", (("escape", intents.GoBack()),))
LEAVE = Key("Esc", "back to Today", (("escape", intents.GoBack()),))


def view_drills(state: State, world: World) -> PageView:
    """Word what is shown."""
    entry = Entry("Find a drill", state.typed, HINT)
    return _view_families(state, entry, world) if shows_families(state) else _view_list(state, entry, world)


def _view_families(state: State, entry: Entry, world: World) -> PageView:
    """Word the families, and how many drills of each have been practised."""
    chosen, standings = find_chosen(state, world), world.list_standings()
    items = tuple(_make_family(name, standings, name == chosen, world) for name in list_families(world))
    frame = make_place_frame(state, world, (keys.bind_enter("open", intents.GoOn()), keys.CHOOSE, LEAVE, keys.ALL_KEYS))
    sentence = f"All {len(world.drills)}, by what they are about, in the order in which they are learned."
    return PageView(frame, "Drills", sentence, ((entry, Items(items)),))


def _make_family(name: str, standings: Sequence[Standing], chosen: bool, world: World) -> PlanItem:
    own = [standing for standing in standings if standing.drill.subject == name]
    drills = f"{len(own)} drill{'s' if len(own) != 1 else ''}"
    out = sum(bool(tell_hindrance(standing.drill, world)) for standing in own)
    heard = len({trial.drill for trial in world.store.list_trials()} & {standing.drill.drill for standing in own})
    notes = [drills, f"{heard} practised" if heard else "", f"{out} not on this set-up or music" if out else ""]
    return PlanItem(0, name, "", "", " · ".join(filter(None, notes)), intents.Do("family", name), chosen)


def _view_list(state: State, entry: Entry, world: World) -> PageView:
    """Word the drills of a family, or those that were found, and what the chosen one is about."""
    shown, chosen = list_shown(state, world), find_chosen(state, world)
    found = bool(state.typed.strip())
    standings = {standing.drill.drill: standing for standing in world.list_standings()}
    lines = _keep_near(shown, chosen)
    items = tuple(_make_item(standings[drill.drill], drill.drill == chosen, found, world) for drill in lines)
    left: list[Part] = [entry, Items(items)]
    if len(lines) < len(shown):
        left.append(Prose(f"{len(shown) - len(lines)} more; another word narrows it.", "small"))
    escape = CLEAR if found else BACK
    enter = (keys.bind_enter("start", intents.GoOn()), keys.CHOOSE) if shown else ()
    frame = make_place_frame(state, world, (*enter, escape, keys.ALL_KEYS))
    buttons = [Button("All families", intents.Do("all"))]
    columns: tuple[tuple[Part, ...], ...] = (tuple(left),)
    if chosen:
        buttons.insert(0, Button("Start", intents.StartDrill(chosen), main=True))
        columns = (tuple(left), (_describe(standings[chosen], world),))
    headline = _count_found(len(shown)) if found else state.drills.family
    sentence = "" if shown else "No drill is called so, nor its family, its sound or its unit."
    return PageView(frame, headline, sentence, columns, (0.55, 0.45), (Choices(tuple(buttons)),))


def _keep_near(shown: tuple[Drill, ...], chosen: str) -> tuple[Drill, ...]:
    """Keep as many as can be read, from the first one, or around the one that is chosen."""
    at = next((place for place, drill in enumerate(shown) if drill.drill == chosen), 0)
    first = min(max(0, at - MOST_FOUND // 2), max(0, len(shown) - MOST_FOUND))
    return shown[first : first + MOST_FOUND]


def _count_found(count: int) -> str:
    return f"{words.count_words(count).capitalize()} drill{'s' if count != 1 else ''} found"


def _make_item(standing: Standing, chosen: bool, found: bool, world: World) -> PlanItem:
    """Word a line: what is heard, the amount reached, and why it cannot be put."""
    drill = standing.drill
    amount = words.write_span(standing.track.estimate(), drill.amount.unit) if _has_range(standing) else ""
    note = tell_hindrance(drill, world) or _tell_lesson(drill, world)
    # In a family the titles stand alone, so that the whole list stays beside what is said of one of them.
    detail = drill.subject if found else ""
    return PlanItem(0, drill.title, detail, amount, note, intents.Do("show", drill.drill), chosen)


def _has_range(standing: Standing) -> bool:
    return FORMS[standing.drill.form].placement == "threshold" and bool(standing.track.trials)


def tell_hindrance(drill: Drill, world: World) -> str:
    """Say why a drill cannot be put on this set-up or this music; empty where it can."""
    if world.plays(drill.drill) is False:
        return NOT_PLAYED[drill.reach]
    if world.audio_class == "own" and needs_parts(drill):
        return "needs a song's separate parts"
    return "needs a reference song" if world.audio_class == "own" and needs_reference(drill) else ""


def _tell_lesson(drill: Drill, world: World) -> str:
    """Say that the set-up is asked about first."""
    return ASKS_FIRST[drill.reach] if world.plays(drill.drill) is None else ""


def _describe(standing: Standing, world: World) -> Sheet:
    """Say what a drill asks, how long it is, where the ear stands, and what a teacher says of it."""
    drill, teaching = standing.drill, standing.drill.teaching
    seeks = FORMS[drill.form].placement == "threshold"
    minutes = max(1, round(estimate_seconds(drill, drill.trials) / 60))
    trials = f"{drill.trials} trial{'s' if drill.trials != 1 else ''}, about {words.count_words(minutes)} "
    parts: list[Part] = [Prose(drill.question, "title")]
    parts.append(Prose(f"{begin_large(drill.subtitle)}.", "small"))
    if seeks:
        parts.append(Prose(f"Your ear: {words.describe_estimate(standing.track.estimate(), drill.amount.unit)}."))
        parts.append(Prose(f"{begin_large(words.describe_usual(drill))}.", "muted"))
    for line in (teaching.does, teaching.listen):
        parts.append(Prose(line))
    parts.append(Prose(f"Taken for: {begin_small(teaching.taken_for)}", "muted"))
    parts.append(Prose(f"The usual mistake: {begin_small(teaching.mistake)}", "muted"))
    hindrance = tell_hindrance(drill, world)
    caption = f"{trials}minute{'s' if minutes != 1 else ''} in full."
    return Sheet(drill.title, tuple(parts), f"Not now: {hindrance}." if hindrance else caption)
