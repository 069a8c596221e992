"""The last step: all kept moves together against the untouched mix, the bounce, its check, and a last listen."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.finding_groups import tell_open
from trainer.decisions.mix_jobs import HearSystems
from trainer.decisions.sheet import Sheet
from trainer.decisions.sheet_words import tell_heard
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.bounces import act_on_bounce, list_bounce_parts, offer_last_listen, offer_making
from trainer.session.mixes.kind import get_edges
from trainer.session.mixes.moving import finish_step, get_sheet, want
from trainer.session.mixes.step_page import make_step_page
from trainer.session.mixes.whole import act_on_whole, find_question, has_moved, word_whole
from trainer.session.pages import Choices, PageView, Part, Prose
from trainer.session.pages import Sheet as Card
from trainer.session.state import State
from trainer.session.typing_line import act_on_line
from trainer.session.view import Button
from trainer.session.world import World


def view_delivery(state: State, world: World) -> PageView:
    """Word the whole and what is open on the left, the files and their check on the right."""
    left: list[Part] = [word_whole(state, world)]
    left_open = list_open(state)
    said = (*left_open, *((words,) if (words := tell_heard(get_sheet(state))) else ()))
    if said:
        left.append(Card("Still open", tuple(Prose(line) for line in said)))
    following = _find_following(state, world)
    finish = Button("Finish all the same" if left_open else "Finish", intents.Do("finish"), main=following == "finish")
    last = offer_last_listen(state, following == "last")
    if following == "findings":
        last = (Button("Decide on what was found", intents.Do("step", "listen_through"), main=True), *last)
    dock: tuple[Part, ...] = (Choices((*last, offer_making(state, world, following == "make"), finish)),)
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


def _do(state: State, intent: intents.Do, sheet: Sheet, world: World) -> State | None:
    """Do what one of the buttons says."""
    if intent.what == "systems":
        return want(state, HearSystems(state.mix.path, sheet.list_kept()), world)
    if intent.what == "finish":
        state = finish_step(state, world)
        return replace(state, message=f"Finished. The sheet is {state.mix.sheet_page}.")
    return act_on_whole(state, intent, world)


def _find_following(state: State, world: World) -> str:
    """Say what comes next: the question about files in the way, the whole, the files, a last listen, the end."""
    if state.mix.taken is not None:
        return "taken"
    if find_question(state, world):
        return "whole"
    if state.mix.checked is None:
        return "make"
    if state.mix.checked.made and not state.mix.listened:
        return "last"
    if _tell_findings(state):
        return "findings"
    return "" if list_open(state) else "finish"


def _tell_findings(state: State) -> tuple[str, ...]:
    return tell_open(get_sheet(state).findings, get_edges(state))


def list_open(state: State) -> tuple[str, ...]:
    """List what has not been decided, asked or checked."""
    sheet = get_sheet(state)
    failed = [bounced for bounced in sheet.delivery.bounced if bounced.verdict == "fail"]
    lines = (
        ("The whole has not been heard against the untouched mix.", has_moved(sheet) and not sheet.whole),
        ("No file has been made or checked.", not sheet.delivery.bounced),
        ("The check of the file fails.", bool(failed)),
    )
    return (*_tell_findings(state), *(line for line, there in lines if there))
