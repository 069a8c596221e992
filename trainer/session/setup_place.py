"""What can be set: sound, listening set-ups, look, tones after answers, the history's way to other computers."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, get_args

from trainer.exercise.sound_check import make_tone
from trainer.session import intents
from trainer.session.answer_tones import CHOICES, EXAMPLES, write_choice
from trainer.session.intents import Intent
from trainer.session.setup_names import add_name, list_names, use_name, write_note
from trainer.session.setup_state import Page, SetupState
from trainer.session.state import State
from trainer.session.typing_line import act_on_line
from trainer.session.world import World

PAGES: tuple[Page, ...] = ("sound", "setups", "look", "answers", "history", "hearing")
TYPED: tuple[Page, ...] = ("setups", "note", "history")


def enter_setup(state: State, world: World) -> State:
    """Begin with all there is to set."""
    return replace(state, setting=SetupState())


def tick_setup(state: State, world: World) -> State:
    """Count the gaps in the test tone."""
    setting = state.setting
    if setting.page != "sound" or setting.gaps is None or not world.player.position().playing:
        return state
    gaps = world.player.take_interruptions()
    return _put(state, gaps=setting.gaps + gaps) if gaps else state


def act_on_setup(state: State, intent: Intent, world: World) -> State | None:
    """Act by the page that is shown."""
    page = state.setting.page
    if page in TYPED:
        if isinstance(intent, intents.DropFile) and page == "history":
            return replace(state, typed=intent.path)
        typed = act_on_line(state, intent, world, paths=page == "history", kind="history")
        if typed is not None:
            return _put(typed, said="")
        if isinstance(intent, intents.GiveAnswer):
            return _take_line(state, intent.text.strip(), world)
        if isinstance(intent, intents.GoOn) and state.typed.strip():
            return _take_line(state, state.typed.strip(), world)
    if isinstance(intent, intents.GoBack):
        return _go_back(state, world)
    if isinstance(intent, intents.ToggleSound) and page == "sound":
        return _toggle_tone(state, world)
    if page in ("all", "setups"):
        return _act_on_list(state, intent, world)
    return _do(state, intent, world) if isinstance(intent, intents.Do) else None


def count_lines(state: State, world: World) -> int:
    """Count the lines that can be chosen."""
    return len(PAGES) if state.setting.page == "all" else len(list_names(world.store))


def _act_on_list(state: State, intent: Intent, world: World) -> State | None:
    """Choose a line, or take the one that is chosen."""
    if isinstance(intent, intents.ListenOther):
        return _put(state, chosen=(state.setting.chosen + intent.step) % count_lines(state, world))
    if isinstance(intent, intents.GoOn):
        if state.setting.page == "all":
            return _open(state, PAGES[state.setting.chosen], world)
        return _use(state, list_names(world.store)[state.setting.chosen], world)
    return _do(state, intent, world) if isinstance(intent, intents.Do) else None


def _do(state: State, intent: intents.Do, world: World) -> State | None:
    """Do what one of the page's buttons says."""
    if intent.what == "page":
        return _open(state, next(page for page in get_args(Page) if page == intent.value), world)
    if intent.what == "use":
        return _use(state, intent.value, world)
    if intent.what == "carry":
        return _put(state, carry="merge" if intent.value == "merge" else "export", said="")
    if intent.what == "theme":
        theme: Literal["paper", "night"] = "night" if intent.value == "night" else "paper"
        world.store.write_setting("theme", theme)
        return replace(state, theme=theme)
    if intent.what == "tones" and intent.value in CHOICES:
        write_choice(world.store, next(choice for choice in CHOICES if choice == intent.value))
        return state
    if intent.what == "hear" and intent.value in EXAMPLES:
        world.player.sound_notes(EXAMPLES[intent.value])
        return state
    return None


def _open(state: State, page: Page, world: World) -> State:
    """Open a page; the computer is asked for its outputs only now."""
    world.player.pause()
    outputs = world.equipment.describe_outputs() if page == "sound" else state.setting.outputs
    names = list_names(world.store)
    chosen = names.index(world.setup_named) if page == "setups" and world.setup_named in names else 0
    return _put(replace(state, typed=""), page=page, chosen=chosen, outputs=outputs, gaps=None, said="")


def _go_back(state: State, world: World) -> State | None:
    """Clear the line, go back to the page before, or leave."""
    if state.typed:
        return replace(state, typed="")
    page = state.setting.page
    if page == "all":
        return None
    state = _open(state, "setups" if page == "note" else "all", world)
    return _put(state, chosen=PAGES.index(page)) if page in PAGES else state


def _toggle_tone(state: State, world: World) -> State:
    """Begin the test tone, or end it."""
    if state.setting.gaps is not None and world.player.position().playing:
        world.player.pause()
        return _put(state, said="The tone is off.")
    rate_hz = world.player.output.rate_hz
    world.player.load(make_tone(rate_hz), rate_hz)
    world.player.play()
    world.player.take_interruptions()
    return _put(state, gaps=0, said="")


def _take_line(state: State, text: str, world: World) -> State:
    """Do what the line is for."""
    page = state.setting.page
    if page == "setups":
        add_name(world.store, text)
        return _use(replace(state, typed=""), text, world)
    if page == "note":
        write_note(world.store, world.setup_named, text)
        return _put(_open(state, "setups", world), said="Noted.")
    path = world.files.make_whole(text)
    carry = world.equipment.export_history if state.setting.carry == "export" else world.equipment.merge_history
    return _put(replace(state, typed=""), said=carry(path))


def _use(state: State, name: str, world: World) -> State:
    """Take a set-up into use."""
    use_name(world.store, name)
    later = f"{name} is in use from the next start: this session was begun with --setup {world.setup}."
    said = later if world.setup and world.setup != name else f"{name} is in use; answers count for it from now on."
    return _put(state, chosen=list_names(world.store).index(name), said=said)


def _put(state: State, **changes: object) -> State:
    """Change what is set."""
    return replace(state, setting=replace(state.setting, **changes))  # type: ignore[arg-type]
