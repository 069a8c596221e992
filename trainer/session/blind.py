"""A blind round in the session: one question after the other, every answer kept at once."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.rounds import Round
from trainer.session import intents
from trainer.session.blind_state import Blind, Heard
from trainer.session.intents import Intent
from trainer.session.state import State
from trainer.session.training import SETTLE_S
from trainer.session.world import World

BOTH_FIRST = "Listen to both first; Enter prefers the one that is playing."
INTERRUPTED = "The sound was interrupted: this one is asked again."
TAKEN_BACK = "The last pick is taken back: the same one is asked again."


def begin_blind(state: State, held: Round, heard: Heard, world: World) -> State:
    """Put the first question of a round that is still open; what comes of it goes to the place it was begun from."""
    return _ask(replace(state, screen="blind"), Blind(held, heard), world)


def tick_blind(state: State, blind: Blind, world: World) -> State:
    """Take in gaps in the sound."""
    gaps = world.player.take_interruptions()
    settled = world.clock.monotonic_s() - blind.asked_s > SETTLE_S
    return replace(state, blind=replace(blind, gaps=blind.gaps + gaps)) if gaps and settled else state


def act_on_blind(state: State, blind: Blind, intent: Intent, world: World) -> State | None:
    """Listen, answer, pause or leave; every answer is kept at once. A complete round has the screen ``verdict``."""
    count = len(blind.asked.sounds)
    if isinstance(intent, intents.GoBack):
        world.player.pause()
        return replace(state, screen=state.home, blind=None)
    if isinstance(intent, intents.Listen) and 1 <= intent.version <= count:
        return _hear(state, blind, intent.version, world)
    if isinstance(intent, intents.ListenOther):
        return _hear(state, blind, (blind.version - 1 + intent.step) % count + 1, world)
    if isinstance(intent, intents.ToggleSound):
        toggle_sound(world)
        return state
    if isinstance(intent, intents.AnswerPlaying):
        if not {1, 2} <= set(blind.met):
            return replace(state, message=BOTH_FIRST)
        return _answer(state, blind, str(blind.version), world) if blind.version <= 2 else state
    if isinstance(intent, intents.TakeBack):
        return _take_back(state, blind, world) if blind.mendable else None
    return _answer(state, blind, intent.text, world) if isinstance(intent, intents.GiveAnswer) else None


def toggle_sound(world: World) -> None:
    """Pause, or go on."""
    if world.player.position().playing:
        world.player.pause()
    else:
        world.player.play()


def _ask(state: State, blind: Blind, world: World) -> State:
    """Put the question that is open: the sound goes on where it is, unless another stretch comes."""
    asked = blind.asked
    if asked.stretch != blind.stretch:
        world.player.load(blind.heard.sounds[asked.stretch], blind.heard.rate_hz)
    world.player.select(asked.sounds[0])
    world.player.play()
    world.player.take_interruptions()
    now_s = world.clock.monotonic_s()
    return replace(state, blind=replace(blind, version=1, stretch=asked.stretch, asked_s=now_s, gaps=0, met=(1,)))


def _hear(state: State, blind: Blind, version: int, world: World) -> State:
    """Fade to a version."""
    world.player.select(blind.asked.sounds[version - 1])
    world.player.play()
    return replace(state, blind=replace(blind, version=version, met=(*blind.met, version)))


def _answer(state: State, blind: Blind, text: str, world: World) -> State:
    """Keep an answer, unless the sound had gaps."""
    late = world.clock.monotonic_s() - blind.asked_s > SETTLE_S
    gaps = blind.gaps + (world.player.take_interruptions() if late else 0)
    answered = blind.held.after(text)
    if gaps or world.lost_sound(blind.held.setup):
        return replace(_ask(state, replace(blind, stretch=-1), world), message=INTERRUPTED)
    world.notebook.keep_round(answered)
    blind = replace(blind, held=answered, mendable=True)
    if not answered.complete:
        return _ask(state, blind, world)
    world.player.pause()
    return replace(state, blind=blind)


def _take_back(state: State, blind: Blind, world: World) -> State:
    """Open the last question again; the notebook keeps what was answered and that it was taken back."""
    held = blind.held.before_last()
    world.notebook.keep_round(held)
    return replace(_ask(state, replace(blind, held=held, mendable=False), world), message=TAKEN_BACK)
