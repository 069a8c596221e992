"""The head and the tail of a song, each by itself: what was found, a fade in small steps, heard with and without."""

from __future__ import annotations

from dataclasses import replace

from trainer.decisions.fade_steps import (
    Bars,
    begins_on_bar,
    change_curve,
    find_curve,
    is_taken,
    leave_edge,
    take_edge,
)
from trainer.decisions.marks import decide_edge
from trainer.decisions.mix_jobs import EdgeHeard, HearEdge
from trainer.decisions.sheet import Decision
from trainer.decisions.song_edges import Edge, SongEdges
from trainer.errors import EvenhandError
from trainer.ports import Finished
from trainer.session import intents
from trainer.session.blind import toggle_sound
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.end_words import CURVE_NAMES, describe_end, tell_reach, tell_tempo, word_measured
from trainer.session.mixes.fading import Fading
from trainer.session.mixes.moving import get_sheet, keep, open_step, put, want
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Balance, Choices, Loop, PageView, Part, Prose, Sheet, Table
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.view import Button, Waveform
from trainer.session.world import World
from trainer.units import write_moment

TITLES: dict[Edge, str] = {"head": "The head", "tail": "The tail"}
WITH_IT, AS_IT_IS = 1, 2
NO_TEMPO = "Once the tempo is said, one page back, the fade can begin on a bar."
DECISIONS: tuple[tuple[str, Decision], ...] = (
    ("Take this fade", "leave"),
    ("Leave it as it is", "keep"),
    ("Fix it in the mix", "mix"),
)


def open_end(state: State, edge: Edge, world: World) -> State:
    """Have one end made ready: with the fade that is taken, else with the one that is proposed."""
    sheet, opened = get_sheet(state), state.mix.opened
    if opened is None or opened.edges is None:
        return state
    tried = sheet.fades if is_taken(sheet.fades, edge) else take_edge(sheet.fades, opened.fades, edge)
    bars, duration_s = _get_bars(state), sheet.mix.duration_s
    on_bar = edge == "tail" and bars is not None and begins_on_bar(tried, duration_s, bars)
    state = put(state, chosen=edge, fading=Fading(edge, tried, on_bar=on_bar), version=WITH_IT)
    return want(state, HearEdge(state.mix.path, tried, edge), world)


def take_end(state: State, heard: EdgeHeard, world: World) -> State:
    """Let one end be heard; a fade that was changed in the meantime is made next."""
    fading = state.mix.fading
    assert fading is not None
    world.player.load(heard.sounds, heard.rate_hz)
    world.player.select(state.mix.version - 1)
    world.player.play()
    fading = replace(fading, heard=heard)
    if fading.working:
        world.worker.submit(HearEdge(state.mix.path, fading.tried, fading.edge))
    return put(state, page="finding", fading=fading, stage=None)


def tick_end(state: State, world: World) -> State:
    """Take in a fade that was made while the one before it is heard."""
    fading = state.mix.fading
    if fading is None or state.mix.chosen != fading.edge or not fading.working:
        return state
    try:
        news = world.worker.collect()
    except EvenhandError as error:
        kept = fading.heard.fades if fading.heard is not None else fading.tried
        return replace(put(state, fading=replace(fading, tried=kept)), message=str(error).splitlines()[0])
    if isinstance(news, Finished) and isinstance(news.result, EdgeHeard):
        return take_end(state, news.result, world)
    return state


def view_end(state: State, world: World) -> PageView:
    """Word one end: what is heard on the left, what can be changed and what was measured on the right."""
    fading, opened = state.mix.fading, state.mix.opened
    assert fading is not None and fading.heard is not None and opened is not None and opened.edges is not None
    heard, edge = fading.heard, fading.edge
    versions = (
        Button("1, with the fade", intents.Listen(WITH_IT), selected=state.mix.version == WITH_IT),
        Button("2, as it is", intents.Listen(AS_IT_IS), selected=state.mix.version == AS_IT_IS),
    )
    words = "making the fade" if fading.working else "both at the gain of the whole song"
    facts = tuple(Prose(line, "muted") for line in describe_end(edge, opened.edges))
    left: tuple[Part, ...] = (Prose(TITLES[edge], "title"), *facts, Balance(versions, words), Loop())
    return make_step_page(
        state,
        world,
        (left, (_word_fade(state, fading, opened.edges), _word_measured(state, fading))),
        keys.END,
        dock=(Choices(_offer_decisions()),),
        waveform=_draw(state, heard),
        sounding=tell_sounding(state.mix.version, heard.sounds.shape[1], world),
    )


def act_on_end(state: State, intent: Intent, world: World) -> State | None:
    """Switch with and without, change the fade, decide, or go back."""
    fading = state.mix.fading
    assert fading is not None
    if isinstance(intent, intents.GoBack):
        return open_step(state, "listen_through", world)
    if isinstance(intent, intents.GoOn):
        return _decide(state, fading, "leave", world)
    if isinstance(intent, intents.ToggleSound):
        toggle_sound(world)
        return state
    if isinstance(intent, intents.ListenOther) or (isinstance(intent, intents.Listen) and intent.version in (1, 2)):
        version = intent.version if isinstance(intent, intents.Listen) else AS_IT_IS + WITH_IT - state.mix.version
        world.player.select(version - 1)
        world.player.play()
        return put(state, version=version)
    if isinstance(intent, intents.MoveControl):
        return _try(state, fading.step(intent.step, get_sheet(state).mix.duration_s, _get_bars(state)), world)
    return _do(state, fading, intent, world) if isinstance(intent, intents.Do) else None


def _do(state: State, fading: Fading, intent: intents.Do, world: World) -> State | None:
    """Do what one of the buttons says."""
    duration_s = get_sheet(state).mix.duration_s
    if intent.what == "length" and intent.value in ("1", "-1"):
        return _try(state, fading.step(int(intent.value), duration_s, _get_bars(state)), world)
    if intent.what == "curve" and intent.value in CURVE_NAMES:
        return _try(state, replace(fading, tried=change_curve(fading.tried, fading.edge, intent.value)), world)
    if intent.what == "bar":
        return _try(state, fading.switch_bar(duration_s, _get_bars(state)), world)
    decision = next((each for _, each in DECISIONS if each == intent.value), None)
    return _decide(state, fading, decision, world) if intent.what == "decide" and decision is not None else None


def _try(state: State, changed: Fading, world: World) -> State:
    """Try another fade; the one before it is heard until this one is made."""
    fading = state.mix.fading
    assert fading is not None
    if changed.working and not fading.working:
        world.worker.submit(HearEdge(state.mix.path, changed.tried, changed.edge))
    return put(state, fading=changed)


def _decide(state: State, fading: Fading, decision: Decision, world: World) -> State:
    """Decide on this end, and with it on what was found there."""
    sheet, opened, edge = get_sheet(state), state.mix.opened, fading.edge
    assert opened is not None and opened.edges is not None
    taken = decision == "leave"
    fades = take_edge(sheet.fades, fading.tried, edge) if taken else leave_edge(sheet.fades, edge)
    at_s = 0.0 if edge == "head" else sheet.mix.duration_s
    findings = decide_edge(sheet.findings, edge, decision, opened.edges, at_s)
    kept = keep(state, replace(sheet, fades=fades, findings=findings), world)
    return open_step(put(kept, fading=None), "listen_through", world)


def _word_fade(state: State, fading: Fading, edges: SongEdges) -> Sheet:
    """Word the fade that is tried, and offer to change it in small steps."""
    fades, edge, sheet = fading.tried, fading.edge, get_sheet(state)
    tempo = sheet.tempo if edge == "tail" else None
    lengths = [Button("Shorter", intents.Do("length", "-1")), Button("Longer", intents.Do("length", "1"))]
    if tempo is not None:
        lengths.append(Button("On the bar", intents.Do("bar"), selected=fading.on_bar))
    curves = tuple(
        Button(CURVE_NAMES[curve].capitalize(), intents.Do("curve", curve), selected=find_curve(fades, edge) == curve)
        for curve in CURVE_NAMES
    )
    lines = tell_reach(fades, edge, edges, sheet.mix.duration_s, tempo)
    parts: list[Part] = [*(Prose(line) for line in lines), Choices(tuple(lengths)), Choices(curves)]
    told = tell_tempo(tempo) if tempo is not None else NO_TEMPO
    return Sheet("The fade", tuple(parts), told if edge == "tail" else "")


def _draw(state: State, heard: EdgeHeard) -> Waveform:
    """Outline what is heard: here nothing is hidden."""
    start_s = max(0.0, heard.start_s)
    end_s = heard.start_s + heard.sounds.shape[1] / heard.rate_hz
    drawn = "drawn with the fade" if state.mix.version == WITH_IT else "drawn as it is"
    return Waveform(heard.outlines[state.mix.version - 1], write_moment(start_s), write_moment(end_s), drawn)


def _get_bars(state: State) -> Bars | None:
    """Give the first downbeat and the length of a bar, where the tempo was said."""
    tempo = get_sheet(state).tempo
    return None if tempo is None else tempo.bars


def _word_measured(state: State, fading: Fading) -> Sheet:
    """Word what both versions measure."""
    heard = fading.heard
    assert heard is not None
    rows = word_measured(heard, get_sheet(state).mix.duration_s)
    # What is shown is the fade before, until this one is made.
    faded = "with the fade before" if fading.working else "with the fade"
    return Sheet("Measured", (Table(("", faded, "as it is"), rows),))


def _offer_decisions() -> tuple[Button, ...]:
    return tuple(
        Button(words, intents.Do("decide", decision), main=decision == "leave") for words, decision in DECISIONS
    )
