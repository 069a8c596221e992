"""The files of a delivery on its page: which forms the targets need, where they go, versions, and what was checked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trainer.decisions.bounce_forms import MasterForm, choose_forms, name_masters, word_form
from trainer.decisions.mix_jobs import CheckFile, Delivered, HearSong, MakeBounce, PlacesTaken
from trainer.decisions.sheet import Sheet
from trainer.decisions.target import Target
from trainer.errors import BadValue
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes.listening import HEARD_WORDS, LAST
from trainer.session.mixes.moving import get_sheet, keep, put, want
from trainer.session.pages import Choices, Entry, Items, Part, Prose, Table
from trainer.session.pages import Sheet as Card
from trainer.session.state import State
from trainer.session.typing_line import offer_paths
from trainer.session.view import Button, PlanItem
from trainer.session.world import World
from trainer.units import write_time

DEPTHS = ((24, "24 bits"), (16, "16 bits, dithered"), (32, "32 bits, floating point"))
RATES = ((0, "as the mix"), (44100, "44.1 kHz"), (48000, "48 kHz"))
# What the line on the page is for.
MASTER, VERSION, OTHER = range(3)
LINES = ("The master", "A version", "A file to check")
MOST_VERSIONS = 7


def list_bounce_parts(state: State, world: World) -> tuple[Part, ...]:
    """Word what is in the way, what was made, what the targets need, and what they leave open."""
    taken, checked = state.mix.taken, state.mix.checked
    parts: list[Part] = [] if taken is None else [_word_taken(taken, world)]
    if checked is not None:
        parts.append(_word_checked(checked, state.mix.marks, world))
    return (*parts, _word_files(state, world), _word_open(get_sheet(state)))


def offer_making(state: State, world: World, main: bool) -> Button:
    """Offer to make all files, with their number; once made, to make them anew."""
    count = max(1, len(_find_forms(state, world)[1])) * (1 + len(state.mix.versions))
    again = " again" if state.mix.checked is not None and state.mix.checked.made else ""
    label = f"Make the file{again}" if count == 1 else f"Make {count} files{again}"
    return Button(label, intents.Do("bounce"), main=main)


def offer_last_listen(state: State, main: bool) -> tuple[Button, ...]:
    """Offer to hear what was made, or checked, from start to end."""
    last = Button("A last listen, from start to end", intents.Do("last"), main=main)
    return (last,) if state.mix.checked is not None else ()


def act_on_bounce(state: State, intent: Intent, world: World) -> State | None:
    """Choose forms, fill in the line, make and check files."""
    if isinstance(intent, intents.GiveAnswer):
        return _use_line(replace(state, typed=intent.text), world)
    if isinstance(intent, intents.DropFile):
        line = VERSION if state.mix.field == VERSION else OTHER
        return _use_line(put(replace(state, typed=intent.path), field=line), world)
    if isinstance(intent, intents.GoOn):
        asked = state.mix.taken is not None and not state.typed.strip()
        return put(state, taken=None) if asked else _use_line(state, world)
    if not isinstance(intent, intents.Do):
        return None
    sheet, value = get_sheet(state), intent.value
    if intent.what == "depth":
        return keep(state, replace(sheet, delivery=replace(sheet.delivery, bit_depth=int(value))), world)
    if intent.what == "rate":
        return keep(state, replace(sheet, delivery=replace(sheet.delivery, rate_hz=int(value))), world)
    if intent.what == "line":
        return put(replace(state, typed=""), field=int(value))
    if intent.what == "version_out":
        return put(state, versions=tuple(path for path in state.mix.versions if path != value))
    if intent.what == "keep_files":
        return put(state, taken=None)
    return _begin(state, intent.what, world)


def take_delivered(state: State, delivered: Delivered, world: World) -> State:
    """Take in files that were made, or one that was checked."""
    sheet, made = get_sheet(state), state.mix.made
    new = tuple(each.bounced for each in delivered.files)
    paths = {each.path for each in new}
    bounced = (*(each for each in sheet.delivery.bounced if each.path not in paths), *new)
    state = keep(state, replace(sheet, delivery=replace(sheet.delivery, bounced=bounced)), world)
    own = (*made, *(each.sha256 for each in new)) if delivered.made else made
    return put(state, page="step", checked=delivered, taken=None, made=own, field=MASTER, listened=False)


def take_taken(state: State, taken: PlacesTaken) -> State:
    """Ask before anything is written over."""
    return put(state, page="step", taken=taken)


def suggest_path(state: State) -> str:
    """Suggest a path beside the mix."""
    return f"{state.mix.path.rsplit('.', 1)[0]} master.wav"


def _begin(state: State, what: str, world: World) -> State | None:
    """Begin what one of the buttons says."""
    if what == "bounce":
        return _make(state, state.typed if state.mix.field == MASTER else "", world)
    if what == "version":
        return _add_version(state, state.typed, world)
    if what == "check":
        return _check(state, world)
    if what == "replace" and state.mix.taken is not None:
        return want(put(state, taken=None), replace(state.mix.taken.wish, force=True), world)
    if what == "last" and state.mix.checked is not None:
        job = HearSong(state.mix.checked.files[0].bounced.path)
        return want(put(state, chosen=LAST, marks=()), job, world)
    return None


def _use_line(state: State, world: World) -> State:
    """Do what the line is for; an empty one makes the files where they are suggested."""
    if state.mix.field == VERSION and state.typed.strip():
        return _add_version(state, state.typed, world)
    if state.mix.field == OTHER:
        return _check(state, world)
    return _make(state, state.typed if state.mix.field == MASTER else "", world)


def _make(state: State, typed: str, world: World) -> State:
    """Make all files: where it was typed, or beside the mix."""
    out = world.files.make_whole(typed.strip() or suggest_path(state))
    job = MakeBounce(get_sheet(state), out, versions=state.mix.versions, own=state.mix.made)
    return want(put(state, taken=None), job, world)


def _check(state: State, world: World) -> State:
    """Check a file that was made elsewhere, if one is named."""
    if not state.typed.strip():
        return state
    return want(state, CheckFile(get_sheet(state), world.files.make_whole(state.typed.strip())), world)


def _add_version(state: State, typed: str, world: World) -> State:
    """Put another version beside the mix.

    Raises
    ------
    BadValue
        If it is the mix, is there already, or there are too many.
    """
    if not typed.strip():
        return state
    path, versions = world.files.make_whole(typed.strip()), state.mix.versions
    if path in (*versions, state.mix.path):
        raise BadValue("bounce", "version", path, "each version once, and not the mix itself")
    if len(versions) == MOST_VERSIONS:
        raise BadValue("bounce", "versions", len(versions) + 1, f"at most {MOST_VERSIONS}")
    return put(replace(state, typed=""), versions=(*versions, path))


def _find_forms(state: State, world: World) -> tuple[str, tuple[MasterForm, ...], dict[str, Target]]:
    """Find where the master goes, and the forms that it gets; a flaw in what is wished is told when they are made."""
    sheet, known = get_sheet(state), world.projects.list_targets()
    targets = {name: known[name] for name in sheet.aim.targets if name in known}
    typed = state.typed.strip() if state.mix.field == MASTER else ""
    out = typed or suggest_path(state)
    rate_hz = sheet.delivery.rate_hz or sheet.mix.sample_rate_hz
    wished = MasterForm(rate_hz, sheet.delivery.bit_depth, "FLAC" if out.lower().endswith(".flac") else "WAV")
    try:
        return out, choose_forms(tuple(targets.values()), wished), targets
    except BadValue:
        return out, (), targets


def _word_files(state: State, world: World) -> Card:
    """Word which files the targets need, and take a line: where to, another version, or a file made elsewhere."""
    line = state.mix.field
    out, forms, targets = _find_forms(state, world)
    rows = tuple(
        (", ".join(targets[name].title for name in form.targets) or "No target is chosen", word_form(form))
        for form in forms
    )
    names = ", ".join(name_masters(world.files.name(out).rsplit(".", 1)[0], forms))
    lines = tuple(
        Button(name, intents.Do("line", str(number)), selected=number == line) for number, name in enumerate(LINES)
    )
    said = (
        "Rate conversion, limiter, fades, peak check, dither last. All files get their names together, when each is "
        "whole and checked."
    )
    parts: list[Part] = [Table(("For", "Form"), rows), Prose(names, "muted")]
    parts += [*_list_versions(state.mix.versions, world), Choices(lines), *_take_line(state, world)]
    return Card("The files", (*parts, Prose(said, "muted")))


def _take_line(state: State, world: World) -> tuple[Part, ...]:
    """Take a line, with what it can be used for."""
    offers = offer_paths(state, world)
    beside = state.mix.path.rsplit(".", 1)[0]
    if state.mix.field == VERSION:
        add = Choices((Button("Add it", intents.Do("version")),))
        hint = f"{beside} instrumental.wav"
        return Entry("The version: instrumental, clean, a cappella", state.typed, hint, offers, "add it"), add
    if state.mix.field == OTHER:
        check = Button("Check it", intents.Do("check"))
        return Entry("The file", state.typed, suggest_path(state), offers, "check it"), Choices((check,))
    return (Entry("Where to", state.typed, suggest_path(state), offers, "make it there"),)


def _list_versions(versions: Sequence[str], world: World) -> tuple[Part, ...]:
    """List the versions that are made with the master; each can be left out again."""
    if not versions:
        return ()
    items = tuple(
        PlanItem(number, world.files.name(path), "", "", "take away", intents.Do("version_out", path), False)
        for number, path in enumerate(versions, 1)
    )
    return Prose("With the same settings and the same gain:", "muted"), Items(items)


def _word_open(sheet: Sheet) -> Card:
    """Word what is chosen where the targets leave it open."""
    delivery = sheet.delivery
    depths = tuple(
        Button(name, intents.Do("depth", str(bits)), selected=delivery.bit_depth == bits) for bits, name in DEPTHS
    )
    rates = tuple(
        Button(name, intents.Do("rate", str(rate)), selected=delivery.rate_hz == rate) for rate, name in RATES
    )
    return Card("Where a target leaves it open", (Choices(depths), Choices(rates)))


def _word_taken(taken: PlacesTaken, world: World) -> Card:
    """Ask whether files that were not made here are written over."""
    names = tuple(Prose(world.files.name(path)) for path in taken.paths)
    one = len(names) == 1
    what = "It was" if one else "They were"
    ask = f"{what} not made since Evenhand was opened. Write over {'it' if one else 'them'}?"
    buttons = (
        Button("Write over it" if one else "Write over them", intents.Do("replace")),
        Button("Keep it" if one else "Keep them", intents.Do("keep_files"), main=True),
    )
    return Card("Already there", (*names, Prose(ask, "muted"), Choices(buttons)))


def _word_checked(checked: Delivered, marks: tuple[tuple[float, str], ...], world: World) -> Card:
    """Word which targets each file fulfils, and what there is to say of it."""
    parts: list[Part] = []
    for each in checked.files:
        parts.append(Prose(world.files.name(each.bounced.path), "title"))
        if each.form:
            parts.append(Prose(each.form, "muted"))
        if each.judged:
            parts.append(Table(("For", "Check"), each.judged))
        parts += [Prose(line) for line in each.lines]
    if checked.lined_up:
        parts += [Prose("The versions against the master", "title"), *(Prose(line) for line in checked.lined_up)]
    if marks:
        said = "; ".join(f"{HEARD_WORDS[kind]} at {write_time(at_s)}" for at_s, kind in marks)
        parts.append(Prose(f"On the last listen you marked {said}."))
    return Card("Made and checked" if checked.made else "Checked", tuple(parts))
