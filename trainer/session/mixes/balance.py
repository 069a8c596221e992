"""The third step: the mix beside songs of the person's own, and broad moves, if any."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.balance_moves import RANGE_FROM
from trainer.decisions.mix_jobs import CompareSongs, HearBeside, Propose, Proposed, SongsCompared
from trainer.decisions.sheet import Candidate, Reference
from trainer.errors import BadValue
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.band_figure import draw_bands, word_legend
from trainer.session.mixes.candidates import choose_candidate, find_offered, offer_candidates, offer_weighing
from trainer.session.mixes.moving import finish_step, get_sheet, keep, put, want
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Choices, Entry, Items, PageView, Part, Picture, Prose, Sheet
from trainer.session.state import State
from trainer.session.typing_line import act_on_line, offer_paths
from trainer.session.view import Button, PlanItem
from trainer.session.world import World

MOST_REFERENCES = 10
WHOLE = "Songs you know well, of other people, lossless, with the same kind of section. Three to five say most."


def view_balance(state: State, world: World) -> PageView:
    """Word the references and the picture on the left, the moves on the right."""
    compared = state.mix.compared
    left: tuple[Part, ...] = (_word_references(state, world),)
    if compared is not None and compared.rows:
        lines = (*compared.warnings, *compared.sent_back)
        parts: list[Part] = [Picture(draw_bands(compared.rows)), Prose(word_legend(compared.rows), "small")]
        parts += [Prose(line, "muted") for line in lines]
        left = (Sheet("Your mix against them, at equal loudness", tuple(parts)), *left)
    right: tuple[Part, ...] = (_word_moves(state),)
    busy = _is_to_compare(state) or bool(state.typed.strip())
    weigh = () if busy else offer_weighing(state, "balance", _list_proposed(state), world)
    begun = get_sheet(state).references or compared is not None or state.mix.bottom is not None
    label = "Next: sweetening" if begun else "Next: sweetening, without references"
    following = Button(label, intents.Do("finish"), main=not (busy or weigh))
    return make_step_page(state, world, (left, right), keys.STEP, dock=(Choices((*weigh, following)),))


def act_on_balance(state: State, intent: Intent, world: World) -> State | None:
    """Name references, compare, weigh a move, go on."""
    typed = act_on_line(state, intent, world, paths=True)
    if typed is not None:
        return typed
    if isinstance(intent, intents.DropFile):
        return add_reference(state, intent.path, world)
    if isinstance(intent, intents.GiveAnswer):
        return add_reference(state, intent.text, world)
    if isinstance(intent, intents.GoOn):
        if state.typed.strip():
            return add_reference(state, state.typed, world)
        return _compare(state, world) if _is_to_compare(state) else finish_step(state, world)
    if not isinstance(intent, intents.Do):
        return None
    sheet = get_sheet(state)
    if intent.what == "remove":
        left = tuple(each for each in sheet.references if each.path != intent.value)
        return put(keep(state, replace(sheet, references=left), world), compared=None)
    if intent.what == "compare":
        return _compare(state, world)
    if intent.what == "beside":
        return want(state, HearBeside(state.mix.path, tuple(each.path for each in sheet.references)), world)
    if intent.what == "bottom":
        return want(state, Propose(state.mix.path, "balance", sheet.list_kept()), world)
    if intent.what == "candidate":
        found = find_offered(sheet, intent.value, _list_proposed(state))
        return None if found is None else choose_candidate(state, found, world)
    return finish_step(state, world) if intent.what == "finish" else None


def _is_to_compare(state: State) -> bool:
    """Tell whether there are references that have not been compared yet."""
    return bool(get_sheet(state).references) and state.mix.compared is None


def _compare(state: State, world: World) -> State:
    """Have the mix set beside its references."""
    paths = tuple(each.path for each in get_sheet(state).references)
    return want(state, CompareSongs(state.mix.path, paths), world)


def add_reference(state: State, path: str, world: World) -> State:
    """Put a song beside the mix; it is read when they are compared."""
    sheet, whole = get_sheet(state), world.files.make_whole(path.strip().strip("'\""))
    if any(each.path == whole for each in sheet.references):
        raise BadValue("balance", "reference", world.files.name(whole), "each song once")
    if len(sheet.references) == MOST_REFERENCES:
        raise BadValue("balance", "references", MOST_REFERENCES + 1, f"at most {MOST_REFERENCES}")
    added = replace(sheet, references=(*sheet.references, Reference(whole, world.files.read_hash(whole))))
    return put(replace(keep(state, added, world), typed=""), compared=None)


def take_compared(state: State, compared: SongsCompared, world: World) -> State:
    """Take in the comparison; songs that could not be compared are told and left out."""
    references = tuple(Reference(*pair) for pair in zip(compared.paths, compared.hashes, strict=True))
    state = put(keep(state, replace(get_sheet(state), references=references), world), compared=compared, page="step")
    return replace(state, message=compared.refused[0]) if compared.refused else state


def take_proposed(state: State, proposed: Proposed, world: World) -> State:
    """Take in the check for rumble, or candidates of the sweetening."""
    change = {"bottom": proposed} if proposed.step == "balance" else {"sweet": proposed}
    return put(state, page="step", **change)


def _list_proposed(state: State) -> tuple[Candidate, ...]:
    compared, bottom = state.mix.compared, state.mix.bottom
    return (*(compared.candidates if compared else ()), *(bottom.candidates if bottom else ()))


def _word_references(state: State, world: World) -> Sheet:
    """Word the songs beside the mix, and take another."""
    sheet = get_sheet(state)
    items = tuple(
        PlanItem(number, world.files.name(each.path), "", "", "take away", intents.Do("remove", each.path), False)
        for number, each in enumerate(sheet.references, 1)
    )
    entry = Entry("Another song", state.typed, "a path, or drop a file", offer_paths(state, world), "add it")
    parts: list[Part] = [Prose(WHOLE, "muted"), entry]
    named = bool(state.typed.strip())
    if named:
        parts.append(Choices((Button("Add this song", intents.GoOn(), main=True),)))
    if items:
        compare = Button("Compare", intents.Do("compare"), main=state.mix.compared is None and not named)
        parts += [Items(items), Choices((compare, Button("Listen to them", intents.Do("beside"))))]
    return Sheet("References", tuple(parts))


def _word_moves(state: State) -> Sheet:
    """Word the moves that are proposed, and the check for rumble."""
    sheet, bottom, compared = get_sheet(state), state.mix.bottom, state.mix.compared
    items = offer_candidates(sheet, "balance", _list_proposed(state))
    parts: list[Part] = [Items(items)] if items else []
    if compared is not None and (compared.note or (compared.rows and not compared.candidates)):
        said = compared.note or "No broad move is proposed: the mix lies where its references lie."
        parts.append(Prose(said, "muted"))
    if not items and compared is None:
        parts.append(Prose("Moves are proposed once the mix has been compared. Leaving it is a result.", "muted"))
    if bottom is None:
        parts.append(Choices((Button("Check for rumble", intents.Do("bottom")),)))
    else:
        parts += [Prose(line, "muted") for line in bottom.refused]
    few = 0 < len(sheet.references) < RANGE_FROM
    return Sheet(f"Moves, {'one' if few else 'two or three'} at most, broad and about 1 dB", tuple(parts))
