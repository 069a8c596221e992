"""Mono, sides only, left and right swapped, quiet: aids to hearing wherever no question is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trainer.ports import UNCHANGED, Monitoring
from trainer.session.intents import Aid, ToggleMonitoring
from trainer.session.pages import PageView, View
from trainer.session.state import State
from trainer.session.view import DemonstrationView, Key, RevealView
from trainer.session.world import World

# Pages on which versions are heard with their names; whatever is not listed here has no aids.
MIX_PAGES, WEIGH_PAGES = ("candidate", "finding", "release", "systems"), ("names",)
PHASES = ("demonstration", "reveal")
LETTERS: dict[Aid, str] = {"mono": "m", "sides": "s", "swapped": "l", "quiet": "h"}
DOES: dict[Aid, str] = {"mono": "mono", "sides": "sides only", "swapped": "swap L, R", "quiet": "quiet"}
SAID: dict[Aid, str] = {
    "mono": "Mono",
    "sides": "Sides only",
    "swapped": "Left and right swapped",
    "quiet": "Quiet, −20 dB",
}
OFF: dict[Aid, str] = {"mono": "mono off", "sides": "sides off", "swapped": "swap back", "quiet": "quiet off"}


AS_IT_IS = UNCHANGED


def allows_aids(state: State) -> bool:
    """Tell whether what is heard now is no question, and may be heard in another way."""
    if state.screen == "run" and state.run is not None:
        return state.run.trial is not None and state.run.phase in PHASES
    if state.screen == "mixes":
        return state.mix.page in MIX_PAGES
    return state.screen == "weigh" and state.weigh.page in WEIGH_PAGES


def toggle_aid(state: State, intent: ToggleMonitoring, world: World) -> State:
    """Hear with an aid, or without it again; while a question is open nothing happens."""
    if not allows_aids(state):
        return state
    state = replace(state, monitoring=change(state.monitoring, intent.aid))
    world.player.hear(state.monitoring)
    return state


def change(how: Monitoring, aid: Aid) -> Monitoring:
    """Switch an aid on or off; of mono, sides and swapped the last one counts, quiet goes with each."""
    if aid == "quiet":
        return replace(how, quiet=not how.quiet)
    return replace(how, channels="stereo" if how.channels == aid else aid)


def keep_aids(state: State, world: World) -> State:
    """Keep the aids over what was loaded anew; where none are allowed, all are off."""
    if state.monitoring == UNCHANGED:
        return state
    if not allows_aids(state):
        world.player.hear(UNCHANGED)
        return replace(state, monitoring=UNCHANGED)
    world.player.hear(state.monitoring)
    return state


def list_aids(how: Monitoring) -> tuple[Aid, ...]:
    """List what is on."""
    channels: tuple[Aid, ...] = () if how.channels == "stereo" else (how.channels,)
    return (*channels, "quiet") if how.quiet else channels


def list_aid_keys(how: Monitoring) -> tuple[Key, ...]:
    """Bind the aids, each to a letter that means nothing else in the program."""
    on = list_aids(how)
    return tuple(
        Key(letter.upper(), OFF[aid] if aid in on else DOES[aid], ((letter, ToggleMonitoring(aid)),))
        for aid, letter in LETTERS.items()
    )


def describe_aids(how: Monitoring, matched: bool = True) -> str:
    """Say what is on and which key switches it off; empty for the sound as it is.

    Parameters
    ----------
    how : Monitoring
        How it is heard.
    matched : bool
        Whether what is heard was set to equal loudness, which holds in stereo only.
    """
    on = list_aids(how)
    if not on:
        return ""
    names = " · ".join(SAID[aid] for aid in on)
    letters = " and ".join(LETTERS[aid].upper() for aid in on)
    said = f"{names}: {letters} {'switches it' if len(on) == 1 else 'switch them'} off"
    return f"{said}. Equal loudness was set in stereo." if matched and how.channels in ("mono", "sides") else said


def say_aids(on: Sequence[Aid]) -> str:
    """Say what is on where aids are words that are typed."""
    if not on:
        return "Heard as it is."
    names = " · ".join(SAID[aid] for aid in on)
    return f"Heard now: {names}. The same word{'s' if len(on) > 1 else ''} again: as it is."


def find_aids_on(keys: Sequence[Key]) -> tuple[Aid, ...]:
    """Find what is on by the keys that switch it off."""
    meant = {binding[1]: key.does for key in keys for binding in key.bindings}
    return tuple(aid for aid, words in OFF.items() if meant.get(ToggleMonitoring(aid)) == words)


def show_aids(view: View, state: State) -> View:
    """Add the aids to a view where they are allowed: their keys, and beside what sounds what is on."""
    if not allows_aids(state) or not isinstance(view, (DemonstrationView, RevealView, PageView)):
        return view
    frame = replace(view.frame, keys=_put_before_leaving(view.frame.keys, list_aid_keys(state.monitoring)))
    if view.sounding is None:
        return replace(view, frame=frame)
    trial = state.run.trial if state.screen == "run" and state.run is not None else None
    heard = describe_aids(state.monitoring, trial is None or trial.loudness_matched)
    return replace(view, frame=frame, sounding=replace(view.sounding, heard=heard, aids=True))


def _put_before_leaving(keys: tuple[Key, ...], more: tuple[Key, ...]) -> tuple[Key, ...]:
    """Set keys before the one that leaves, where there is one."""
    leaving = (place for place, key in enumerate(keys) if any(name == "escape" for name, _ in key.bindings))
    place = next(leaving, len(keys))
    return (*keys[:place], *more, *keys[place:])
