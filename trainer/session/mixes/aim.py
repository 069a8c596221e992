"""The first step: first impressions, what matters, where it goes; and only then whether the mix is ready."""

from __future__ import annotations

import re
from dataclasses import replace

from trainer.decisions.intake import sum_up_intake
from trainer.decisions.mix_jobs import HearSong
from trainer.decisions.sheet import Aim
from trainer.decisions.target import Target
from trainer.errors import BadValue
from trainer.session import intents
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.listening import SONG
from trainer.session.mixes.moving import finish_step, get_sheet, keep, put, want
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Choices, Entry, Items, PageView, Part, Prose, Sheet
from trainer.session.state import State
from trainer.session.typing_line import act_on_line
from trainer.session.view import Button, PlanItem
from trainer.session.world import World

# International Standard Recording Code, ISO 3901: country, registrant, year, designation.
ISRC = re.compile(r"[A-Z]{2}[A-Z0-9]{3}\d{7}")
FIELDS = (
    ("impression 1", "First impression", "what strikes you first, before any measurement"),
    ("impression 2", "Second impression", "one more, or nothing"),
    ("impression 3", "Third impression", "one more, or nothing"),
    ("keep", "What must not be lost", "such as: the closeness of the voice"),
    ("mood", "Mood, in a word", "such as: restless"),
    ("systems", "Where it has to work", "such as: headphones, car, small speaker"),
    ("title", "Title", "of the song"),
    ("version", "Version", "such as: mix 4"),
    ("isrc", "ISRC", "twelve characters, if there is one"),
    ("credits", "Credits", "for the sheet"),
)
IMPRESSIONS = 3
# What goes back to the mix is read first.
ORDER = ("fail", "warn", "pass")
# Where the lines begin that only end up in files.
FOR_FILES = 6


def view_aim(state: State, world: World) -> PageView:
    """Word the aim: the song and one line at a time on the left, targets and readiness on the right."""
    sheet, place = get_sheet(state), state.mix.field
    left: list[Part] = []
    first = len(sheet.aim.impressions) < IMPRESSIONS and place < IMPRESSIONS and not state.typed.strip()
    done = place >= FOR_FILES and not _is_new(state)
    play = Button("Play the song", intents.Do("song"), main=first)
    take = Button("Note it", intents.GoOn(), main=not first and not done)
    if place < len(FIELDS):
        _, label, hint = FIELDS[place]
        left.append(Entry(label, state.typed, hint, does="" if done else "note it"))
    left.append(Choices((play, take) if place < len(FIELDS) else (play,)))
    filled = tuple(_offer_field(number, sheet.aim, place) for number in range(len(FIELDS)))
    left.append(Sheet("What you hear and want", (Items(filled[:FOR_FILES]),)))
    left.append(Sheet("For the files", (Items(filled[FOR_FILES:]),)))
    right: tuple[Part, ...] = (_offer_targets(sheet.aim, world), _word_intake(state))
    go_on = Button("Next: listen through", intents.Do("finish"), main=done)
    return make_step_page(state, world, (tuple(left), right), keys.AIM, dock=(Choices((go_on,)),))


def act_on_aim(state: State, intent: Intent, world: World) -> State | None:
    """Fill in a line, choose targets, or go on."""
    typed = act_on_line(state, intent, world)
    if typed is not None:
        return typed
    sheet, place = get_sheet(state), state.mix.field
    if isinstance(intent, (intents.GoOn, intents.GiveAnswer)):
        if place >= len(FIELDS):
            return _finish(state, world)
        text = intent.text if isinstance(intent, intents.GiveAnswer) else state.typed
        aim = fill_in(sheet.aim, FIELDS[place][0], text.strip()) if text.strip() else sheet.aim
        following = read_field(aim, FIELDS[place + 1][0]) if place + 1 < len(FIELDS) else ""
        return put(replace(keep(state, replace(sheet, aim=aim), world), typed=following), field=place + 1)
    if not isinstance(intent, intents.Do):
        return None
    if intent.what == "field":
        number = int(intent.value)
        return put(replace(state, typed=read_field(sheet.aim, FIELDS[number][0])), field=number)
    if intent.what == "target":
        chosen = sheet.aim.targets
        targets = tuple(t for t in chosen if t != intent.value) if intent.value in chosen else (*chosen, intent.value)
        return keep(state, replace(sheet, aim=replace(sheet.aim, targets=targets)), world)
    if intent.what == "song":
        return want(put(state, chosen=SONG), HearSong(state.mix.path), world)
    if intent.what == "measured":
        return put(state, field=max(place, IMPRESSIONS))
    return _finish(state, world) if intent.what == "finish" else None


def fill_in(aim: Aim, name: str, text: str) -> Aim:
    """Put a line in its place.

    Raises
    ------
    BadValue
        If an ISRC is none.
    """
    if name.startswith("impression"):
        place = int(name.split()[1]) - 1
        lines = [*aim.impressions, "", "", ""][:IMPRESSIONS]
        lines[place] = text
        return replace(aim, impressions=tuple(line for line in lines if line))
    if name == "systems":
        return replace(aim, systems=tuple(part.strip() for part in text.split(",") if part.strip()))
    if name == "isrc":
        bare = text.upper().replace("-", "").replace(" ", "")
        if not ISRC.fullmatch(bare):
            raise BadValue("aim", "isrc", text, "twelve characters, such as QZABC2600001")
        return replace(aim, isrc=bare)
    return replace(aim, **{name: text})  # type: ignore[arg-type]


def read_field(aim: Aim, name: str) -> str:
    """Give the line that stands in a place."""
    if name.startswith("impression"):
        place = int(name.split()[1]) - 1
        return aim.impressions[place] if place < len(aim.impressions) else ""
    value = getattr(aim, name)
    return ", ".join(value) if isinstance(value, tuple) else str(value)


def _is_new(state: State) -> bool:
    """Tell whether the line holds something that has not been taken yet."""
    place = state.mix.field
    known = read_field(get_sheet(state).aim, FIELDS[place][0]) if place < len(FIELDS) else ""
    return state.typed.strip() not in ("", known)


def _finish(state: State, world: World) -> State:
    """Go on, with a target at least."""
    if not get_sheet(state).aim.targets:
        raise BadValue("aim", "targets", "none", "at least one: where will it be heard?")
    return finish_step(state, world)


def _offer_field(number: int, aim: Aim, place: int) -> PlanItem:
    name, label, _ = FIELDS[number]
    return PlanItem(
        number + 1, label, read_field(aim, name), "", "", intents.Do("field", str(number)), selected=number == place
    )


def _offer_targets(aim: Aim, world: World) -> Sheet:
    """Offer the delivery targets; several at once."""
    targets = enumerate(world.projects.list_targets().items(), 1)
    items = tuple(_offer_target(number, name, target, name in aim.targets) for number, (name, target) in targets)
    return Sheet("Where it will be heard", (Items(items),), "Several at once, if you like.")


def _offer_target(number: int, name: str, target: Target, chosen: bool) -> PlanItem:
    note = "chosen" if chosen else ""
    return PlanItem(number, target.title, target.about, "", note, intents.Do("target", name), chosen)


def _word_intake(state: State) -> Sheet:
    """Say whether the mix is ready, once first impressions are noted."""
    opened = state.mix.opened
    if state.mix.field < IMPRESSIONS and not get_sheet(state).aim.impressions:
        show = Choices((Button("Show it now", intents.Do("measured")),))
        return Sheet("Is the mix ready?", (Prose("Measured, and shown after your first impressions.", "muted"), show))
    if opened is None:
        return Sheet("Is the mix ready?", (Prose("Open the mix again to have it measured.", "muted"),))
    lines: list[Part] = [Prose(sum_up_intake(opened.intake), "title")]
    for item in sorted(opened.intake, key=lambda item: ORDER.index(item.outcome)):
        lead = {"fail": "Goes back: ", "warn": "Look at it: ", "pass": ""}[item.outcome]
        lines.append(Prose(f"{lead}{item.reason}", "body" if lead else "muted"))
        if item.next_step and lead:
            lines.append(Prose(item.next_step, "muted"))
    return Sheet("Is the mix ready?", tuple(lines))
