"""Versions with their names: the mix beside its references, or the kept moves on small systems. No test."""

from __future__ import annotations

from trainer.decisions.mix_jobs import VersionsHeard
from trainer.session import intents
from trainer.session.blind import toggle_sound
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.moving import open_step, put, word_heard
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Balance, Choices, Loop, PageView, Part, Prose
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.view import Button, Sounding, Waveform
from trainer.session.world import World
from trainer.units import write_time

# One thing a pass; common practice, no source.
THINGS = (
    "the level of the voice",
    "kick against bass",
    "weight at the bottom",
    "cymbals and the very top",
    "width",
    "depth: how far away things stand",
    "density: how far drums stand out of the song",
    "the ending",
)
SYSTEMS = "A band limit is no loudspeaker: it shows what is left of the song, and gives no verdict."


def take_beside(state: State, heard: VersionsHeard, world: World) -> State:
    """Let the versions be heard with their names."""
    world.player.load(heard.sounds[0], heard.rate_hz)
    world.player.play()
    return put(state, page="systems", heard=heard, version=1, field=0)


def view_beside(state: State, world: World) -> PageView:
    """Word the versions, and what to listen for on this pass."""
    heard, thing = state.mix.heard, THINGS[state.mix.field % len(THINGS)]
    assert heard is not None
    versions = tuple(
        Button(f"{number}, {name}", intents.Listen(number), selected=state.mix.version == number)
        for number, name in enumerate(heard.captions, 1)
    )
    words = f"On this pass listen for one thing: {thing}." if state.mix.step == "balance" else SYSTEMS
    parts: list[Part] = [Prose(words), Balance(versions, word_heard(heard, "").balance), Loop()]
    buttons = (Button("Another thing", intents.Do("thing")),) if state.mix.step == "balance" else ()
    parts.append(Choices((*buttons, Button("Back", intents.GoBack(), main=True))))
    start, end = heard.stretches[0]
    return make_step_page(
        state,
        world,
        (tuple(parts),),
        keys.list_named_keys(len(versions)),
        waveform=Waveform(heard.outlines[0], write_time(start), write_time(end), heard.captions[0]),
        sounding=_sound(state, heard, world),
    )


def act_on_beside(state: State, intent: Intent, world: World) -> State | None:
    """Switch, pause, take another thing to listen for, or go back."""
    heard = state.mix.heard
    assert heard is not None
    count = heard.sounds[0].shape[0]
    if isinstance(intent, (intents.GoBack, intents.GoOn)):
        return open_step(state, state.mix.step, world)
    if isinstance(intent, intents.ToggleSound):
        toggle_sound(world)
        return state
    if isinstance(intent, intents.Do) and intent.what == "thing":
        return put(state, field=state.mix.field + 1)
    version = state.mix.version
    if isinstance(intent, intents.ListenOther):
        version = (version - 1 + intent.step) % count + 1
    elif isinstance(intent, intents.Listen) and 1 <= intent.version <= count:
        version = intent.version
    else:
        return None
    world.player.select(version - 1)
    world.player.play()
    return put(state, version=version)


def _sound(state: State, heard: VersionsHeard, world: World) -> Sounding:
    return tell_sounding(state.mix.version, heard.sounds[0].shape[1], world)
