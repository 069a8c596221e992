"""Versions with their names: the mix beside its references, or the kept moves on small systems. No test."""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.decisions.balance_parts import EVERYTHING, PARTS, outline_versions
from trainer.decisions.mix_jobs import VersionsHeard
from trainer.session import intents
from trainer.session.blind import toggle_sound
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.band_figure import draw_bands, find_heard, word_legend
from trainer.session.mixes.moving import open_step, put, word_heard
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Balance, Choices, Loop, PageView, Part, Picture, Prose, Sheet
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.view import Button, Sounding, Waveform
from trainer.session.world import World
from trainer.units import begin_large, write_number, write_time


@dataclass(frozen=True)
class Thing:
    """Name what a pass is listened through for, and where it is heard best once all of it has been heard."""

    words: str
    alone: str = ""


# One thing a pass; common practice, no source.
THINGS = (
    Thing("the level of the voice", "the mids or the presence alone"),
    Thing("kick against bass", "the bottom alone"),
    Thing("weight at the bottom", "the bottom alone"),
    Thing("warmth or mud in the low mids", "the low mids alone"),
    Thing("cymbals and the very top", "the top alone"),
    Thing("width", "the sides only, then mono"),
    Thing("depth: how far away things stand"),
    Thing("density: how far drums stand out of the song"),
    Thing("the ending"),
)
SYSTEMS = "A band limit is no loudspeaker: it shows what is left of the song, and gives no verdict."
SAME_GAIN = "Each song keeps the gain of its whole: what differs is heard."
# More discs than this are no longer told apart in half of a page; longer names are cut there.
MOST_DISCS, LONGEST_NAME = 5, 22


def take_beside(state: State, heard: VersionsHeard, world: World) -> State:
    """Let the versions be heard with their names, all of them from the whole."""
    world.player.load(heard.sounds[0], heard.rate_hz)
    columns = len(heard.outlines[0])
    whole = heard.sounds[0][: len(heard.captions)]
    heard = replace(heard, outlines=outline_versions(whole, columns))
    state = put(state, page="systems", heard=heard, version=1, field=0)
    if state.mix.part not in heard.parts:
        state = put(state, part=EVERYTHING)
    world.player.select(_place(state, heard))
    world.player.play()
    return state


def view_beside(state: State, world: World) -> PageView:
    """Word the versions, what to listen for on this pass, and which part of them is heard."""
    heard = state.mix.heard
    assert heard is not None
    beside = state.mix.step == "balance"
    buttons = (Button("Listen for something else", intents.Do("thing"), main=True),) if beside else ()
    way_on = Choices((*buttons, Button("Back", intents.GoBack(), main=not beside)))
    words = Prose(_word_thing(THINGS[state.mix.field % len(THINGS)]) if beside else SYSTEMS)
    left: tuple[Part, ...] = (words, *_set_out(state, heard), Loop())
    bound = (*keys.list_named_keys(len(heard.captions)), *keys.list_part_keys(heard.parts))
    sounding = _sound(state, heard, world)
    if not heard.parts:
        return make_step_page(state, world, ((*left, way_on),), bound, waveform=_draw(state, heard), sounding=sounding)
    columns = (left, (_word_parts(state, heard),))
    return make_step_page(state, world, columns, bound, dock=(way_on,), waveform=_draw(state, heard), sounding=sounding)


def act_on_beside(state: State, intent: Intent, world: World) -> State | None:
    """Switch version or part, pause, take another thing to listen for, or go back."""
    heard = state.mix.heard
    assert heard is not None
    count = len(heard.captions)
    if isinstance(intent, (intents.GoBack, intents.GoOn)):
        return open_step(state, state.mix.step, world)
    if isinstance(intent, intents.ToggleSound):
        toggle_sound(world)
        return state
    if isinstance(intent, intents.Do) and intent.what == "thing":
        return put(state, field=state.mix.field + 1)
    version = state.mix.version
    if isinstance(intent, intents.Do) and intent.what == "part" and intent.value in heard.parts:
        state = put(state, part=intent.value)
    elif isinstance(intent, intents.ListenOther):
        version = (version - 1 + intent.step) % count + 1
    elif isinstance(intent, intents.Listen) and 1 <= intent.version <= count:
        version = intent.version
    else:
        return None
    state = put(state, version=version)
    world.player.select(_place(state, heard))
    world.player.play()
    return state


def _draw(state: State, heard: VersionsHeard) -> Waveform:
    """Outline the version that is heard, with its name; places in the song are known of the mix alone."""
    number = state.mix.version - 1
    start, end = heard.stretches[0]
    if state.mix.step == "balance" and number:
        start, end = 0.0, heard.sounds[0].shape[1] / heard.rate_hz
    return Waveform(heard.outlines[number], write_time(start), write_time(end), heard.captions[number])


def _place(state: State, heard: VersionsHeard) -> int:
    """Give the place of what is heard among the sounds: all versions of one part, then those of the next."""
    part = heard.parts.index(state.mix.part) if state.mix.part in heard.parts else 0
    return part * len(heard.captions) + state.mix.version - 1


def _word_thing(thing: Thing) -> str:
    """Say what to listen for on this pass, and where."""
    alone = f" First in everything, then in {thing.alone}." if thing.alone else ""
    return f"On this pass listen for one thing: {thing.words}.{alone}"


def _set_out(state: State, heard: VersionsHeard) -> tuple[Part, ...]:
    """Set the versions on the beam, or in rows where there are too many."""
    chosen = state.mix.version
    balance = word_heard(heard, "").balance
    if heard.parts and state.mix.part != EVERYTHING:
        balance = f"each song as a whole {balance.split(' ', 1)[1]}"
    many = bool(heard.parts) and len(heard.captions) > MOST_DISCS
    versions = tuple(
        Button(f"{number}, {_shorten(name) if many else name}", intents.Listen(number), selected=number == chosen)
        for number, name in enumerate(heard.captions, 1)
    )
    if many:
        return (Sheet("At equal loudness", (Choices(versions),), f"{begin_large(balance)}."),)
    return (Balance(versions, balance),)


def _shorten(name: str) -> str:
    """Cut a name that is too long for a button, in its middle."""
    half = LONGEST_NAME // 2
    return name if len(name) <= LONGEST_NAME else f"{name[: half - 1].rstrip()} … {name[1 - half :].lstrip()}"


def _word_parts(state: State, heard: VersionsHeard) -> Sheet:
    """Offer what is heard, and point at it in the comparison."""
    chosen, channels = state.mix.part, state.monitoring.channels
    bands = tuple(Button(PARTS[part].title, intents.Do("part", part), selected=part == chosen) for part in heard.parts)
    aids = (
        Button("Sides only", intents.ToggleMonitoring("sides"), selected=channels == "sides"),
        Button("Mono", intents.ToggleMonitoring("mono"), selected=channels == "mono"),
    )
    parts: list[Part] = [Choices((*bands, *aids)), *map(Prose, _word_part(chosen, channels, heard))]
    sides = channels == "sides"
    compared = state.mix.compared.rows if state.mix.compared is not None else ()
    rows = tuple(row for row in compared if row.kind != ("band" if sides else "width"))
    if rows:
        marked = find_heard(rows, chosen, EVERYTHING, sides)
        parts += [Picture(draw_bands(rows, marked)), Prose(word_legend(rows), "small")]
    return Sheet("What is heard", tuple(parts))


def _word_part(part: str, channels: str, heard: VersionsHeard) -> tuple[str, str]:
    """Say what is heard now, and that no part is matched by itself; two lines always, so that nothing moves."""
    said = PARTS[part].about
    if channels in ("sides", "mono"):
        said += " The sides alone." if channels == "sides" else " In mono."
    whole = part == EVERYTHING and channels not in ("sides", "mono")
    return said, f"All at {write_number(heard.loudness_lufs)} LUFS." if whole else SAME_GAIN


def _sound(state: State, heard: VersionsHeard, world: World) -> Sounding:
    return tell_sounding(state.mix.version, heard.sounds[0].shape[1], world)
