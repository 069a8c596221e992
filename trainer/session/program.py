"""From intents to states: the middle that every face of the program shares."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from trainer.errors import EvenhandError
from trainer.session import intents
from trainer.session.answer_tones import CHOICES, sound_change, write_choice
from trainer.session.blind import act_on_blind, tick_blind
from trainer.session.blind_state import Blind
from trainer.session.first_start import begin_first_start
from trainer.session.intents import Intent
from trainer.session.monitoring import keep_aids, toggle_aid
from trainer.session.places import NAMES, find_place
from trainer.session.setup_state import LARGEST_TEXT, SMALLEST_TEXT
from trainer.session.state import State
from trainer.session.training import act_on_run, start_drill, start_named, stop_run, tick_run
from trainer.session.world import World

if TYPE_CHECKING:
    from trainer.decisions.beam import BeamJob


@dataclass(frozen=True)
class Opening:
    """Say what the program opens with.

    Parameters
    ----------
    drill : str
        A drill to begin; empty for none.
    bounces : BeamJob or None
        Bounces to be put on the beam.
    mix : str
        Path of a mix to be opened; empty for none.
    project : str
        Its project's name, where that is not the file's.
    references : tuple of str
        Paths of songs to set beside it.
    cautions_said : bool
        Whether the cautions have been given already, as the terminal does.
    """

    drill: str = ""
    bounces: BeamJob | None = None
    mix: str = ""
    project: str = ""
    references: tuple[str, ...] = ()
    cautions_said: bool = False


PLAIN = Opening()
TEXT_STEP = 10


def open_program(world: World, opening: Opening = PLAIN) -> State:
    """Begin: the cautions at the first start, then the plan, or what was named."""
    theme = world.store.read_setting("theme", "paper")
    percent = world.store.read_setting("text_percent", "100")
    seen = opening.cautions_said or world.store.read_setting("cautions_seen", "no") == "yes"
    state = State(
        theme="night" if theme == "night" else "paper",
        text_percent=int(percent) if percent.isdigit() else 100,
        named=opening.drill,
    )
    if opening.bounces is not None:
        from trainer.session.weigh.flow import begin_weighing

        job = opening.bounces
        state = begin_weighing(
            replace(state, screen="weigh", home="weigh"), job.files, job.start_s, job.length_s, world
        )
    if opening.mix:
        from trainer.session.mixes.moving import put
        from trainer.session.mixes.projects import open_mix

        state = put(replace(state, screen="mixes", home="mixes"), named_references=opening.references)
        state = open_mix(state, opening.mix, opening.project, world)
    return start_named(state, world) if seen else replace(state, screen="cautions")


def act(state: State, intent: Intent, world: World) -> State:
    """Answer an intent with the next state; an intent that has no place now changes nothing."""
    before = state = replace(state, message="")
    try:
        state = _act_anywhere(state, intent, world) or _act_on_screen(state, intent, world) or state
    except EvenhandError as error:
        state = replace(state, message=str(error).splitlines()[0])
    return _follow(before, state, world)


def tick(state: State, world: World) -> State:
    """Take in what happened meanwhile: work that is done, gaps in the sound."""
    return _follow(state, _tick_on_screen(state, world), world)


def _follow(before: State, after: State, world: World) -> State:
    """Sound a tone after an answer, and keep aids to hearing out of questions."""
    if after is before:
        return after
    sound_change(before, after, world)
    return keep_aids(after, world)


def _tick_on_screen(state: State, world: World) -> State:
    """Take in what happened, by screen."""
    if state.run is not None:
        return tick_run(state, world)
    if state.screen == "blind" and state.blind is not None:
        return tick_blind(state, state.blind, world)
    return find_place(state.screen).tick(state, world) if state.screen in NAMES else state


def _act_anywhere(state: State, intent: Intent, world: World) -> State | None:
    """Act on what works on every screen."""
    if isinstance(intent, intents.ToggleKeys):
        return replace(state, keys_open=not state.keys_open)
    if isinstance(intent, intents.ChangeTheme):
        theme: Literal["paper", "night"] = "paper" if state.theme == "night" else "night"
        world.store.write_setting("theme", theme)
        return replace(state, theme=theme)
    if isinstance(intent, intents.ChooseTones):
        write_choice(world.store, next(choice for choice in CHOICES if choice == intent.choice))
        return state
    if isinstance(intent, intents.ChangeTextSize):
        wished = 100 if intent.step == 0 else state.text_percent + intent.step * TEXT_STEP
        percent = min(max(wished, SMALLEST_TEXT), LARGEST_TEXT)
        world.store.write_setting("text_percent", str(percent))
        return replace(state, text_percent=percent)
    if state.keys_open:
        return replace(state, keys_open=False)
    if isinstance(intent, intents.ToggleMonitoring):
        return toggle_aid(state, intent, world)
    return None


def _act_on_screen(state: State, intent: Intent, world: World) -> State | None:
    """Act by screen."""
    if state.screen == "cautions":
        return _act_on_cautions(state, intent, world)
    if state.screen == "leaving":
        return _act_on_leaving(state, intent, world)
    if state.screen == "problem":
        return _act_on_problem(state, intent, world)
    if state.screen == "run" and state.run is not None:
        return act_on_run(state, intent, world)
    if state.screen == "blind" and state.blind is not None:
        return _act_in_round(state, state.blind, intent, world)
    if isinstance(intent, intents.GoTo):
        return _go_to(state, intent.place, world)
    acted = find_place(state.screen).act(state, intent, world)
    if acted is not None:
        return acted
    if isinstance(intent, intents.GoBack):
        return _go_to(state, "today", world) if state.screen != "today" else replace(state, screen="leaving")
    return _quit(state, intent)


def _act_in_round(state: State, blind: Blind, intent: Intent, world: World) -> State | None:
    """Act on a blind question; a complete round goes to the place that it was begun from."""
    acted = act_on_blind(state, blind, intent, world)
    if acted is None:
        return _quit(state, intent)
    if acted.blind is None or not acted.blind.held.complete:
        return acted
    held = acted.blind.held
    acted = replace(acted, screen=state.home, blind=None, judged=held)
    return find_place(state.home).take_round(acted, held, world)


def _go_to(state: State, place: str, world: World) -> State | None:
    """Go to a part of the program; what sounds, stops."""
    if place not in NAMES or place == state.screen:
        return None
    world.player.pause()
    return find_place(place).enter(replace(state, screen=place, home=place, typed=""), world)


def _act_on_cautions(state: State, intent: Intent, world: World) -> State | None:
    if isinstance(intent, intents.GoOn):
        world.store.write_setting("cautions_seen", "yes")
        state = replace(state, screen=state.home)
        plain = state.home == "today" and not state.named
        return begin_first_start(state, world) if plain else start_named(state, world)
    return _quit(state, intent)


def _act_on_problem(state: State, intent: Intent, world: World) -> State | None:
    """Go back to where it began, or on to another drill."""
    if isinstance(intent, intents.StartDrill):
        return start_drill(state, intent.drill, world)
    if isinstance(intent, (intents.GoOn, intents.GoBack)):
        return replace(state, screen=state.home)
    return _quit(state, intent)


def _act_on_leaving(state: State, intent: Intent, world: World) -> State | None:
    """Leave a run, or the program from its first screen; or stay."""
    inside = state.run is not None
    if isinstance(intent, intents.GoOn):
        return stop_run(replace(state, screen=state.home), world) if inside else replace(state, finished=True)
    if isinstance(intent, intents.GoBack):
        if inside:
            world.player.play()
        return replace(state, screen="run" if inside else "today")
    return _quit(state, intent)


def _quit(state: State, intent: Intent) -> State | None:
    return replace(state, finished=True) if isinstance(intent, intents.Quit) else None
