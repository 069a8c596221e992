"""The last question: all moves together against the untouched mix, then without each in turn, as the day's minutes go.

Of the moves left out in turn the least sure comes first, as leaving it out tells most.
"""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.candidate_verdicts import WITH_IT, WITHOUT, judge_candidate
from trainer.decisions.candidate_words import VERDICT_WORDS, title_candidate
from trainer.decisions.listening_budget import count_sitting, estimate_minutes
from trainer.decisions.mix_jobs import HearMoves, VersionsHeard
from trainer.decisions.rounds import Kind, Round, count_asked
from trainer.decisions.sheet import Candidate, Sheet, Verdict
from trainer.decisions.whole_order import order_by_doubt
from trainer.session import intents
from trainer.session.mixes.candidates import BUTTONS, KINDS, word_round
from trainer.session.mixes.listening_budget import count_fitting, offer_round, proposes_today, tell_lack
from trainer.session.mixes.moving import ask_blind, find_following, get_sheet, keep, put, put_off, want
from trainer.session.pages import Choices, Items, Part, Prose
from trainer.session.pages import Sheet as Card
from trainer.session.sittings import list_sitting
from trainer.session.state import State
from trainer.session.view import Button, PlanItem
from trainer.session.words import count_words
from trainer.session.world import World
from trainer.units import begin_small, write_number

WHOLE = "whole"
ALL_TOGETHER, UNTOUCHED = "all moves together", "the untouched mix"
# What the whole says against the chain, once it has been asked to its end.
LOST: dict[Verdict, str] = {
    "leave": "The untouched mix was preferred. Leaving out each move in turn finds the one that spoils it.",
    "below_hearing": "Not told from the untouched mix today: fewer moves will do.",
}


def has_moved(sheet: Sheet) -> bool:
    """Tell whether anything was done to the mix."""
    return bool(sheet.list_kept()) or sheet.loudness.rung is not None


def find_question(state: State, world: World) -> str:
    """Say what of the whole is asked next: ``whole``, the open comparison, or nothing; files in the way go first."""
    sheet = get_sheet(state)
    if not has_moved(sheet) or state.mix.taken is not None:
        return ""
    if not sheet.whole:
        return WHOLE
    return state.mix.chosen if _find_open(state, world) is not None else ""


def word_whole(state: State, world: World) -> Card:
    """Word the last questions: everything against the untouched mix, then without each move in turn."""
    sheet = get_sheet(state)
    if not has_moved(sheet):
        nothing = "No move is kept and no loudness is chosen: the master is the mix. That is a result too."
        return Card("The whole", (Prose(nothing), *_word_impressions(sheet)))
    parts: list[Part] = [
        Prose("Several moves that nobody hears alone may add up. On verse, chorus and ending, equally loud."),
        *(Prose(line, "muted") for line in _tell_lack(state, world)),
        Choices((*_offer_whole(state, world), Button("On small systems", intents.Do("systems")))),
    ]
    for held in reversed(sheet.whole[-3:]):
        parts += word_round(held)
    lost = LOST.get(judge_candidate(_list_named(sheet, WHOLE), "taste"))
    if lost:
        parts.append(Prose(lost))
    return Card("The whole", (*parts, *_word_turns(sheet, world), *_word_impressions(sheet)))


def act_on_whole(state: State, intent: intents.Do, world: World) -> State | None:
    """Ask about the whole or without one move, go on with what is open, or leave it for another day."""
    if intent.what == "whole":
        return _want_whole(state, intent.value, world)
    if intent.what == "later":
        question = find_question(state, world)
        return put_off(state, _name_question(question or WHOLE, get_sheet(state)), world)
    if intent.what == "again":
        kind = _find_open(state, world)
        heard = state.mix.heard
        return None if kind is None or heard is None else _ask(state, heard, kind, world)
    return None


def take_whole(state: State, heard: VersionsHeard, world: World) -> State:
    """Take in what can be heard, and ask about it at once."""
    state = put(state, page="step", heard=heard)
    kind = KINDS.get(find_following(_list_heard(get_sheet(state), heard), ("", ""), world))
    if kind is None:
        return replace(state, message="This was asked today; ask again on another day, or on another set-up.")
    return _ask(state, heard, kind, world)


def take_whole_round(state: State, held: Round, world: World) -> State:
    """Keep a complete round of the whole."""
    sheet = get_sheet(state)
    whole = (*(each for each in sheet.whole if each.round != held.round), held)
    return put(keep(state, replace(sheet, whole=whole), world), page="step")


def _want_whole(state: State, chosen: str, world: World) -> State:
    """Have the song rendered with all moves, and without any or without one."""
    sheet = get_sheet(state)
    kept = sheet.list_kept()
    without = tuple(each for each in kept if each.candidate != chosen) if chosen != WHOLE else ()
    loudness = sheet.loudness if sheet.loudness.rung else None
    job = HearMoves(state.mix.path, without, kept, "whole", loudness, chosen != WHOLE)
    return want(put(state, chosen=chosen), job, world)


def _ask(state: State, heard: VersionsHeard, kind: Kind, world: World) -> State:
    return ask_blind(state, heard, _name_versions(state.mix.chosen, get_sheet(state)), kind, (WITHOUT, WITH_IT), world)


def _offer_whole(state: State, world: World) -> tuple[Button, ...]:
    """Offer the whole, and before it what is open of a comparison that was begun today."""
    sheet, now = get_sheet(state), world.clock.now()
    everything = "All moves against the untouched mix"
    ask = intents.Do("whole", WHOLE)
    heard, kind = state.mix.heard, _find_open(state, world)
    if kind is None or heard is None:
        if find_question(state, world) != WHOLE:
            return (Button(everything, ask),)
        return offer_round(everything, ask, proposes_today(sheet, "prefer", (), now))
    sitting = list_sitting(_list_heard(sheet, heard), world)
    label = BUTTONS[find_following(sitting, ("", ""), world)]
    main = bool(find_question(state, world))
    going_on = offer_round(label, intents.Do("again"), proposes_today(sheet, kind, sitting, now), main)
    return (*going_on, Button(everything, ask)) if state.mix.chosen != WHOLE else going_on


def _tell_lack(state: State, world: World) -> tuple[str, ...]:
    """Say why what comes next waits for another day, where it does."""
    if not find_question(state, world):
        return ()
    sheet, heard = get_sheet(state), state.mix.heard
    kind = _find_open(state, world)
    rounds = list_sitting(_list_heard(sheet, heard), world) if kind is not None and heard is not None else ()
    return tell_lack(sheet, kind or "prefer", rounds, world.clock.now())


def _find_open(state: State, world: World) -> Kind | None:
    """Find the round that comes next of a comparison that was begun in this sitting and can be heard."""
    heard = state.mix.heard
    if heard is None or heard.kind != "moves":
        return None
    rounds = _list_heard(get_sheet(state), heard)
    return KINDS.get(find_following(rounds, ("", ""), world)) if list_sitting(rounds, world) else None


def _list_heard(sheet: Sheet, heard: VersionsHeard) -> tuple[Round, ...]:
    """List the rounds between what can be heard now."""
    return tuple(held for held in sheet.whole if set(held.versions) == set(heard.hashes))


def _list_named(sheet: Sheet, chosen: str) -> tuple[Round, ...]:
    """List the rounds of a question of the whole since it was last asked of other versions."""
    named = [held for held in sheet.whole if held.names == _name_versions(chosen, sheet)]
    return tuple(held for held in named if held.versions == named[-1].versions)


def _name_versions(chosen: str, sheet: Sheet) -> tuple[str, str]:
    """Name both versions of a question of the whole."""
    if chosen == WHOLE:
        return UNTOUCHED, ALL_TOGETHER
    candidate = sheet.find_candidate(chosen)
    name = title_candidate(candidate) if candidate else chosen
    return f"all but {name}", ALL_TOGETHER


def _name_question(chosen: str, sheet: Sheet) -> str:
    """Name a question of the whole within a sentence."""
    candidate = sheet.find_candidate(chosen)
    if candidate is None:
        return "all moves against the untouched mix"
    return f"the song without {begin_small(title_candidate(candidate))}"


def _word_turns(sheet: Sheet, world: World) -> tuple[Part, ...]:
    """Offer all moves without each in turn, the least sure first; what does not fit into today waits."""
    ordered = order_by_doubt(sheet.list_kept())
    if len(ordered) < 2:
        return ()
    asked = tuple(each for each in ordered if _list_named(sheet, each.candidate))
    waiting = tuple(each for each in ordered if each not in asked)
    now = world.clock.now()
    # The whole itself comes first, and takes its share of the day.
    room = max(0, count_fitting(sheet, now) - (not sheet.whole))
    later = {each.candidate for each in waiting[room:]}
    items = tuple(
        _offer_without(number, each, sheet, each.candidate in later)
        for number, each in enumerate((*waiting, *asked), 1)
    )
    said = (Prose(line, "muted") for line in _word_room(len(waiting), room, bool(sheet.whole)))
    return (Prose("Without each in turn", "title"), *said, Items(items))


def _word_room(waiting: int, room: int, begun: bool) -> tuple[str, ...]:
    """Say what order the moves stand in, what one takes, and how many of them fit into today."""
    if not waiting:
        return ()
    least, most = (estimate_minutes(picks) for picks in (count_asked("prefer", 2), count_sitting(2)))
    each = f"{write_number(least, 0)} to {write_number(most, 0)} minutes each"
    order = f"The least sure first, {each}." if waiting > 1 else f"One is left, {each}."
    if room >= waiting:
        return (order,)
    today = "Today's minutes" if begun else "After the whole, today's minutes"
    if not room:
        return order, f"{today} hold none of them: better on another day."
    rest = waiting - room
    others = "the last one is" if rest == 1 else f"the last {count_words(rest)} are"
    return order, f"{today} hold {count_words(room)} of them; {others} for another day."


def _offer_without(number: int, kept: Candidate, sheet: Sheet, later: bool) -> PlanItem:
    """Offer all moves against all but one: what the ear said of it alone, or of the song without it."""
    found = judge_candidate(_list_named(sheet, kept.candidate), "taste")
    detail = f"alone: {VERDICT_WORDS[kept.verdict]}" if found == "untried" else f"in the song: {VERDICT_WORDS[found]}"
    note = "another day" if later else ""
    return PlanItem(number, title_candidate(kept), detail, "", note, intents.Do("whole", kept.candidate), False)


def _word_impressions(sheet: Sheet) -> tuple[Part, ...]:
    """Show the first impressions again."""
    if not sheet.aim.impressions:
        return ()
    return (Prose("Your first impressions were", "title"), *(Prose(line) for line in sheet.aim.impressions))
