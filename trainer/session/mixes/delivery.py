"""The last step: all kept moves together against the untouched mix, the bounce, its check, and a last listen."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.candidate_verdicts import WITH_IT, WITHOUT
from trainer.decisions.candidate_words import title_candidate
from trainer.decisions.finding_groups import tell_open
from trainer.decisions.mix_jobs import HearMoves, HearSystems, VersionsHeard
from trainer.decisions.round_verdicts import Next
from trainer.decisions.rounds import Kind, Round
from trainer.decisions.sheet import Candidate, Sheet
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.bounces import act_on_bounce, list_bounce_parts, offer_making
from trainer.session.mixes.candidates import word_round
from trainer.session.mixes.kind import get_edges
from trainer.session.mixes.listening import tell_left
from trainer.session.mixes.moving import ask_blind, find_following, finish_step, get_sheet, keep, put, want
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Choices, Items, PageView, Part, Prose
from trainer.session.pages import Sheet as Card
from trainer.session.state import State
from trainer.session.typing_line import act_on_line
from trainer.session.view import Button, PlanItem
from trainer.session.world import World

KINDS: dict[Next, Kind] = {"prefer": "prefer", "apart": "apart", "again": "prefer"}
WHOLE = "whole"


def view_delivery(state: State, world: World) -> PageView:
    """Word the whole and what is open on the left, the files and their check on the right."""
    left: list[Part] = [_word_whole(state, world)]
    left_open = list_open(state)
    said = left_open if state.mix.left_at_s is None else (*left_open, tell_left(state.mix.left_at_s))
    if said:
        left.append(Card("Still open", tuple(Prose(line) for line in said)))
    following = _find_following(state)
    finish = Button("Finish all the same" if left_open else "Finish", intents.Do("finish"), main=following == "finish")
    dock: tuple[Part, ...] = (Choices((offer_making(state, world, following == "make"), finish)),)
    page = f"The sheet: {state.mix.sheet_page}" if state.mix.sheet_page else ""
    return make_step_page(state, world, (tuple(left), list_bounce_parts(state, world)), keys.STEP, page, dock)


def act_on_delivery(state: State, intent: Intent, world: World) -> State | None:
    """Ask for the whole, bounce, check, listen once more."""
    typed = act_on_line(state, intent, world, paths=True)
    if typed is not None:
        return typed
    sheet = get_sheet(state)
    done = _do(state, intent, sheet, world) if isinstance(intent, intents.Do) else None
    return done if done is not None else act_on_bounce(state, intent, world)


def take_whole(state: State, heard: VersionsHeard, world: World) -> State:
    """Take in what can be heard, and ask about it at once."""
    sheet = get_sheet(state)
    rounds = tuple(held for held in sheet.whole if set(held.versions) == set(heard.hashes))
    kind = KINDS.get(find_following(rounds, ("", ""), world))
    state = put(state, page="step", heard=heard)
    if kind is None:
        return replace(state, message="This was asked today; ask again on another day, or on another set-up.")
    return ask_blind(state, heard, _name_versions(state.mix.chosen, sheet), kind, (WITHOUT, WITH_IT), world)


def take_whole_round(state: State, held: Round, world: World) -> State:
    """Keep a complete round of the whole."""
    sheet = get_sheet(state)
    whole = (*(each for each in sheet.whole if each.round != held.round), held)
    return put(keep(state, replace(sheet, whole=whole), world), page="step")


def _do(state: State, intent: intents.Do, sheet: Sheet, world: World) -> State | None:
    """Do what one of the buttons says."""
    kept = sheet.list_kept()
    if intent.what == "whole":
        without = tuple(each for each in kept if each.candidate != intent.value) if intent.value != WHOLE else ()
        job = HearMoves(
            state.mix.path,
            without,
            kept,
            "whole",
            sheet.loudness if sheet.loudness.rung else None,
            intent.value != WHOLE,
        )
        return want(put(state, chosen=intent.value), job, world)
    if intent.what == "systems":
        return want(state, HearSystems(state.mix.path, kept), world)
    if intent.what == "finish":
        state = finish_step(state, world)
        return replace(state, message=f"Finished. The sheet is {state.mix.sheet_page}.")
    return None


def _find_following(state: State) -> str:
    """Say what comes next: the question about files in the way, the whole, the files, the end; one at a time."""
    sheet = get_sheet(state)
    if state.mix.taken is not None:
        return "taken"
    if _has_moved(sheet) and not sheet.whole:
        return "whole"
    if state.mix.checked is None:
        return "make"
    return "" if list_open(state) else "finish"


def _has_moved(sheet: Sheet) -> bool:
    """Tell whether anything was done to the mix."""
    return bool(sheet.list_kept()) or sheet.loudness.rung is not None


def list_open(state: State) -> tuple[str, ...]:
    """List what has not been decided, asked or checked."""
    sheet = get_sheet(state)
    failed = [bounced for bounced in sheet.delivery.bounced if bounced.verdict == "fail"]
    lines = (
        ("The whole has not been heard against the untouched mix.", _has_moved(sheet) and not sheet.whole),
        ("No file has been made or checked.", not sheet.delivery.bounced),
        ("The check of the file fails.", bool(failed)),
    )
    return (*tell_open(sheet.findings, get_edges(state)), *(line for line, there in lines if there))


def _name_versions(chosen: str, sheet: Sheet) -> tuple[str, str]:
    """Name both versions of a question of the whole."""
    if chosen == WHOLE:
        return "the untouched mix", "all moves together"
    candidate = sheet.find_candidate(chosen)
    name = title_candidate(candidate) if candidate else chosen
    return f"all but {name}", "all moves together"


def _word_whole(state: State, world: World) -> Card:
    """Word the last questions: everything against the untouched mix, then without each move in turn."""
    sheet = get_sheet(state)
    kept = sheet.list_kept()
    parts: list[Part] = []
    if not _has_moved(sheet):
        parts.append(Prose("No move is kept and no loudness is chosen: the master is the mix. That is a result too."))
    else:
        parts.append(
            Prose("Several moves that nobody hears alone may add up. On verse, chorus and ending, equally loud.")
        )
        following = _find_following(state)
        ask = Button("All moves against the untouched mix", intents.Do("whole", WHOLE), main=following == "whole")
        parts.append(Choices((ask, Button("On small systems", intents.Do("systems")))))
    for held in reversed(sheet.whole[-3:]):
        parts += word_round(held)
    if len(kept) > 1:
        items = tuple(_offer_without(number, each) for number, each in enumerate(kept, 1))
        parts += [Prose("Without each in turn", "title"), Items(items)]
    if sheet.aim.impressions:
        parts += [Prose("Your first impressions were", "title"), *(Prose(line) for line in sheet.aim.impressions)]
    return Card("The whole", tuple(parts))


def _offer_without(number: int, kept: Candidate) -> PlanItem:
    ask = intents.Do("whole", kept.candidate)
    return PlanItem(number, title_candidate(kept), "all moves against all but this one", "", "", ask, False)
