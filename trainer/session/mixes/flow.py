"""A mix on its way: what is shown, what an intent does, what work and rounds bring."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from trainer.decisions.mix_jobs import (
    Delivered,
    EdgeHeard,
    MixOpened,
    PlacesTaken,
    Proposed,
    SettingsHeard,
    SongHeard,
    SongsCompared,
    VersionsHeard,
)
from trainer.decisions.rounds import Round
from trainer.decisions.sheet import STEPS, StepName
from trainer.errors import EvenhandError
from trainer.ports import Finished
from trainer.session import intents
from trainer.session.frame import make_frame
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.aim import act_on_aim, view_aim
from trainer.session.mixes.balance import act_on_balance, take_compared, take_proposed, view_balance
from trainer.session.mixes.beside import act_on_beside, take_beside, view_beside
from trainer.session.mixes.bounces import take_delivered, take_taken
from trainer.session.mixes.candidates import act_on_candidate, take_candidate_round, take_moves, view_candidate
from trainer.session.mixes.compressor_setting import act_on_settings, take_settings, view_settings
from trainer.session.mixes.delivery import act_on_delivery, view_delivery
from trainer.session.mixes.ends import take_end
from trainer.session.mixes.listening import (
    LAST,
    PASS,
    act_on_finding,
    act_on_listening,
    act_on_pass,
    tick_finding,
    tick_pass,
    view_finding,
    view_listening,
    view_pass,
)
from trainer.session.mixes.loudness import act_on_loudness, take_rung_round, take_rungs, view_loudness
from trainer.session.mixes.moving import open_step, put
from trainer.session.mixes.projects import (
    act_on_changed,
    act_on_projects,
    take_opened,
    view_changed,
    view_projects,
)
from trainer.session.mixes.state import Page
from trainer.session.mixes.sweetening import act_on_sweetening, view_sweetening
from trainer.session.mixes.whole import take_whole, take_whole_round
from trainer.session.pages import Advance, Choices, PageView
from trainer.session.state import State
from trainer.session.view import Button
from trainer.session.world import World

View = Callable[[State, World], PageView]
Act = Callable[[State, Intent, World], State | None]
STEP_PAGES: dict[StepName, tuple[View, Act]] = {
    "aim": (view_aim, act_on_aim),
    "listen_through": (view_listening, act_on_listening),
    "balance": (view_balance, act_on_balance),
    "sweetening": (view_sweetening, act_on_sweetening),
    "loudness": (view_loudness, act_on_loudness),
    "delivery": (view_delivery, act_on_delivery),
}
PAGES: dict[Page, tuple[View, Act]] = {
    "projects": (view_projects, act_on_projects),
    "changed": (view_changed, act_on_changed),
    "pass": (view_pass, act_on_pass),
    "finding": (view_finding, act_on_finding),
    "candidate": (view_candidate, act_on_candidate),
    "systems": (view_beside, act_on_beside),
    "release": (view_settings, act_on_settings),
}


def view_mixes(state: State, world: World) -> PageView:
    """Word the page that is shown."""
    page = state.mix.page
    if page == "working":
        return _view_working(state, world)
    return (STEP_PAGES[state.mix.step] if page == "step" else PAGES[page])[0](state, world)


def act_on_mixes(state: State, intent: Intent, world: World) -> State | None:
    """Act by the page; the six steps can be gone to from everywhere but the pass."""
    page = state.mix.page
    if page == "working":
        return _cancel(state, world) if isinstance(intent, intents.GoBack) else None
    if page != "pass" and isinstance(intent, intents.Do) and intent.what == "step":
        return open_step(state, intent.value, world) if intent.value in STEPS else None
    acted = (STEP_PAGES[state.mix.step] if page == "step" else PAGES[page])[1](state, intent, world)
    if acted is None and page == "step" and isinstance(intent, intents.GoBack):
        world.player.pause()
        return put(replace(state, typed=""), page="projects", sheet=None, opened=None, heard=None)
    return acted


def tick_mixes(state: State, world: World) -> State:
    """Take in how far the work is, and follow a pass."""
    if state.mix.page == "pass":
        return tick_pass(state, world)
    if state.mix.page == "finding":
        return tick_finding(state, world)
    if state.mix.page != "working":
        return state
    try:
        news = world.worker.collect()
    except EvenhandError as error:
        return replace(_cancel(state, world), message=str(error).splitlines()[0])
    if isinstance(news, Finished):
        try:
            return _take_result(state, news.result, world)
        except EvenhandError as error:
            return replace(_cancel(state, world), message=str(error).splitlines()[0])
    return state if news is None else put(state, stage=news)


def take_mix_round(state: State, held: Round, world: World) -> State:
    """Take in a complete round: of a move, of the rungs, or of the whole."""
    if state.mix.step == "loudness":
        return take_rung_round(state, held, world)
    if state.mix.step == "delivery":
        return take_whole_round(state, held, world)
    return take_candidate_round(state, held, world)


def _take_result(state: State, result: object, world: World) -> State:
    """Take in what came of the work."""
    if isinstance(result, MixOpened):
        return take_opened(put(state, versions=(), taken=None, fading=None), result, world)
    if isinstance(result, SongHeard):
        return _take_song(state, result, world)
    if isinstance(result, EdgeHeard):
        return take_end(state, result, world)
    if isinstance(result, SongsCompared):
        return take_compared(state, result, world)
    if isinstance(result, Proposed):
        return take_proposed(state, result, world)
    if isinstance(result, Delivered):
        return take_delivered(state, result, world)
    if isinstance(result, PlacesTaken):
        return take_taken(state, result)
    if isinstance(result, SettingsHeard):
        return take_settings(state, result, world)
    assert isinstance(result, VersionsHeard)
    if result.kind == "rungs":
        return take_rungs(state, result, world)
    if result.kind == "named":
        return take_beside(state, result, world)
    return take_whole(state, result, world) if state.mix.step == "delivery" else take_moves(state, result, world)


def _take_song(state: State, song: SongHeard, world: World) -> State:
    """Play a pass, a finding, the ending, or the last listen."""
    world.player.load(song.sounds, song.rate_hz)
    world.player.play()
    page: Page = "pass" if state.mix.chosen in (PASS, LAST) else "finding"
    return put(state, page=page, song=song, marks=(), heard_frame=0)


def _cancel(state: State, world: World) -> State:
    """Give the work up, and go back to where it was asked for."""
    world.worker.cancel()
    weighing = state.mix.step == "sweetening" and state.mix.chosen and state.mix.heard is not None
    page: Page = "projects" if state.mix.opened is None else "candidate" if weighing else "step"
    return put(state, page=page, stage=None)


def _view_working(state: State, world: World) -> PageView:
    """Word how far the work is."""
    stage = state.mix.stage
    part = Advance(stage.fraction, stage.words) if stage else Advance(0.0, "Beginning")
    frame = make_frame(state, world, "My mixes", "one moment", keys.WORKING)
    cancel = Choices((Button("Cancel", intents.GoBack()),))
    sentence = "The mix is read, never changed."
    return PageView(frame, "Working on the song", sentence, ((part, cancel),), busy=True)
