"""Findings of one kind that are told together: the strongest heard first, and one decision for all."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.finding_groups import (
    FindingGroup,
    decide_group,
    group_findings,
    place_group,
    tell_group,
    tell_others,
    write_strength,
)
from trainer.decisions.mix_jobs import HearSong, SongHeard
from trainer.decisions.sheet import Decision, Finding
from trainer.decisions.song_edges import SongEdges
from trainer.errors import EvenhandError
from trainer.ports import Finished
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes.moving import get_sheet, keep, open_step, put, want
from trainer.session.pages import Choices, Items, Loop, Part, Prose, Sheet
from trainer.session.state import State
from trainer.session.view import Button, PlanItem
from trainer.session.world import World
from trainer.units import write_number, write_time

# A place is heard with so much of the song around it, and at least so long.
AROUND_S, SHORTEST_S = 2.0, 4.0
UNHEARD = "Only measured: none of them was marked on the pass."
DECISIONS: tuple[tuple[str, Decision], ...] = (("Fix them in the mix", "mix"), ("They stay", "keep"))


def find_group(state: State, kind: str) -> FindingGroup | None:
    """Find the findings of a kind that are told together."""
    groups = group_findings(get_sheet(state).findings, get_edges(state))
    return next((each for each in groups if each.kind == kind), None)


def get_edges(state: State) -> SongEdges | None:
    """Give what is known of both ends of the song."""
    return state.mix.opened.edges if state.mix.opened is not None else None


def hear_around(state: State, finding: Finding) -> HearSong:
    """Ask for the place around a finding, long enough to be heard as a loop."""
    start_s = max(0.0, finding.start_s - AROUND_S)
    end_s = max(start_s + SHORTEST_S, finding.end_s + AROUND_S)
    return HearSong(state.mix.path, start_s, min(end_s, get_sheet(state).mix.duration_s))


def open_kind(state: State, kind: str, world: World) -> State | None:
    """Have the strongest of a kind made ready to be heard."""
    group = find_group(state, kind)
    if group is None:
        return None
    return want(put(state, chosen=kind, version=1), hear_around(state, group.strongest), world)


def word_kind(state: State) -> tuple[tuple[Part, ...], ...]:
    """Word a kind: what is heard and decided on the left, the strongest on the right."""
    group = find_group(state, state.mix.chosen)
    assert group is not None
    undecided = group.decision == "open"
    buttons = tuple(
        Button(words, intents.Do("decide", decision), main=undecided and decision == "mix", selected=chosen)
        for words, decision in DECISIONS
        for chosen in (group.decision == decision,)
    )
    alone = Button(f"Decide on number {state.mix.version} by itself", intents.Do("alone"))
    left: tuple[Part, ...] = (
        Prose(place_group(group), "figure"),
        Prose(UNHEARD, "muted"),
        Loop(),
        Choices(buttons),
    )
    items = tuple(
        _offer_place(number, group.findings[place], near, number == state.mix.version)
        for number, (place, near) in enumerate(group.name_strongest(), 1)
    )
    told = (Prose(others, "muted"),) if (others := tell_others(group)) else ()
    return left, (Sheet("The strongest first", (Items(items), *told, Choices((alone,)))),)


def count_places(state: State) -> int:
    """Count the places of the open kind that can be heard."""
    group = find_group(state, state.mix.chosen)
    return 0 if group is None else len(group.name_strongest())


def act_on_kind(state: State, intent: Intent, world: World) -> State | None:
    """Hear another place, decide on all or on one by itself."""
    count = count_places(state)
    if isinstance(intent, intents.ListenOther):
        return _hear_place(state, (state.mix.version - 1 + intent.step) % count + 1, world)
    if isinstance(intent, intents.Listen) and 1 <= intent.version <= count:
        return _hear_place(state, intent.version, world)
    if not isinstance(intent, intents.Do):
        return None
    if intent.what == "alone":
        return put(state, chosen=str(_find_place(state)))
    decision = next((each for _, each in DECISIONS if each == intent.value), None)
    if intent.what != "decide" or decision is None:
        return None
    sheet = get_sheet(state)
    findings = decide_group(sheet.findings, state.mix.chosen, decision, get_edges(state))
    return open_step(keep(state, replace(sheet, findings=findings), world), "listen_through", world)


def tick_kind(state: State, world: World) -> State:
    """Take in another place, made while the one before it is heard."""
    if not _is_awaiting(state):
        return state
    try:
        news = world.worker.collect()
    except EvenhandError as error:
        return replace(put(state, version=_find_heard(state)), message=str(error).splitlines()[0])
    if not (isinstance(news, Finished) and isinstance(news.result, SongHeard)):
        return state
    world.player.load(news.result.sounds, news.result.rate_hz)
    world.player.play()
    state = put(state, song=news.result)
    if _is_awaiting(state):
        world.worker.submit(_ask(state))
    return state


def _hear_place(state: State, version: int, world: World) -> State:
    """Go to another place; the one before it is heard until this one is made."""
    before = _is_awaiting(state)
    state = put(state, version=version)
    if not before and _is_awaiting(state):
        world.worker.submit(_ask(state))
    elif not before:
        world.player.play()
    return state


def _is_awaiting(state: State) -> bool:
    """Tell whether the place that was chosen is still being made."""
    return state.mix.song is not None and state.mix.song.start_s != _ask(state).start_s


def _ask(state: State) -> HearSong:
    """Ask for the place that was chosen."""
    return hear_around(state, get_sheet(state).findings[_find_place(state)])


def _find_place(state: State, version: int | None = None) -> int:
    """Find where the finding that is heard stands among all."""
    group = find_group(state, state.mix.chosen)
    assert group is not None
    number = state.mix.version if version is None else version
    return group.places[group.name_strongest()[number - 1][0]]


def _find_heard(state: State) -> int:
    """Find which of the named places sounds now; the first where none does."""
    findings, song = get_sheet(state).findings, state.mix.song
    starts = {
        version: hear_around(state, findings[_find_place(state, version)]).start_s
        for version in range(1, count_places(state) + 1)
    }
    return next((version for version, start_s in starts.items() if song and start_s == song.start_s), 1)


def _offer_place(number: int, finding: Finding, near: int, selected: bool) -> PlanItem:
    """Offer one of the strongest, with how many more are heard there."""
    note = f"{near - 1} more within {write_number(AROUND_S, 0)} s" if near > 1 else ""
    title = f"At {write_time(finding.start_s)}"
    return PlanItem(number, title, "", write_strength(finding), note, intents.Listen(number), selected)


def offer_kind(number: int, group: FindingGroup, decided: str) -> PlanItem:
    """Offer a kind as one row."""
    return PlanItem(number, tell_group(group), "", "", decided, intents.Do("kind", group.kind), False)
