"""What a weighing does with what a person wants."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np

from trainer.decisions.beam import BeamJob, CopiesJob, OnBeam, PageJob, hear_difference
from trainer.decisions.bounces import FEWEST, MOST
from trainer.decisions.rounds import Round
from trainer.errors import BadValue, EvenhandError
from trainer.ports import Finished
from trainer.session import intents
from trainer.session.blind import begin_blind, toggle_sound
from trainer.session.intents import Intent
from trainer.session.state import State
from trainer.session.typing_line import act_on_line
from trainer.session.weigh.rounds import KINDS, begin_weighing_round, find_following, hear_beam, keep_sighted
from trainer.session.weigh.state import Page
from trainer.session.world import World

LAST_FILES = "weighed"
LISTENING = (intents.Listen, intents.ListenOther, intents.ToggleSound, intents.OnlyWhatChanged)


def act_on_weigh(state: State, intent: Intent, world: World) -> State | None:
    """Act by the page that is shown."""
    if isinstance(intent, intents.DropFile) and state.weigh.page == "files":
        return _add_file(state, intent.path, world)
    page = state.weigh.page
    if page == "files":
        return _act_on_files(state, intent, world)
    if page == "working":
        return _act_on_working(state, intent, world)
    return _act_on_beam(state, intent, world)


def tick_weigh(state: State, world: World) -> State:
    """Take in how far the work is, and gaps in the sound."""
    weigh = state.weigh
    if weigh.page != "working":
        return state
    try:
        news = world.worker.collect()
    except EvenhandError as error:
        page: Page = "beam" if weigh.beam is not None else "files"
        return replace(_put(state, page=page, stage=None), message=str(error).splitlines()[0])
    if news is None:
        return state
    if isinstance(news, Finished):
        return _take_result(state, news.result, world)
    return _put(state, stage=news)


def begin_weighing(
    state: State, files: tuple[str, ...], start_s: float | None, length_s: float | None, world: World
) -> State:
    """Put files on the beam.

    Raises
    ------
    BadValue
        If there are too few or too many.
    """
    if not FEWEST <= len(files) <= MOST:
        raise BadValue("weigh", "files", len(files), f"{FEWEST} to {MOST} bounces of one song")
    world.player.pause()
    world.worker.submit(BeamJob(files, start_s, length_s))
    return _put(replace(state, typed=""), page="working", stage=None, files=files, written="")


def list_last(world: World) -> tuple[tuple[str, ...], ...]:
    """List the sets of files that were weighed last."""
    try:
        found = json.loads(world.store.read_setting(LAST_FILES, "[]"))
        return tuple(tuple(map(str, files)) for files in found)[:3]
    except (ValueError, TypeError):
        return ()


def _act_on_files(state: State, intent: Intent, world: World) -> State | None:
    """Name files, take one away, begin."""
    typed = act_on_line(state, intent, world, paths=True)
    if typed is not None:
        return typed
    weigh = state.weigh
    if isinstance(intent, intents.GoOn):
        if state.typed.strip():
            return _add_file(state, state.typed.strip(), world)
        return begin_weighing(state, weigh.files, None, None, world)
    if isinstance(intent, intents.GiveAnswer):
        return _add_file(state, intent.text, world)
    if not isinstance(intent, intents.Do):
        return None
    if intent.what == "remove":
        return _put(state, files=tuple(file for file in weigh.files if file != intent.value))
    if intent.what == "again":
        return begin_weighing(state, list_last(world)[int(intent.value)], None, None, world)
    return begin_weighing(state, weigh.files, None, None, world) if intent.what == "begin" else None


def _add_file(state: State, path: str, world: World) -> State:
    """Put a file on the list, each once."""
    whole = world.files.make_whole(path.strip().strip("'\""))
    files = state.weigh.files
    if whole in files:
        raise BadValue("weigh", "file", world.files.name(whole), "each file once")
    if len(files) == MOST:
        raise BadValue("weigh", "files", MOST + 1, f"{FEWEST} to {MOST} bounces of one song")
    return _put(replace(state, typed=""), files=(*files, whole))


def _act_on_working(state: State, intent: Intent, world: World) -> State | None:
    """Give the work up."""
    if not isinstance(intent, intents.GoBack):
        return None
    world.worker.cancel()
    page: Page = "beam" if state.weigh.beam is not None else "files"
    return _put(state, page=page, stage=None)


def _take_result(state: State, result: object, world: World) -> State:
    """Take in what the work gave: bounces that can be heard, or a folder of copies."""
    if not isinstance(result, OnBeam):
        return _put(state, page="differences", stage=None, written=str(result))
    last = [list(state.weigh.files), *(list(files) for files in list_last(world) if files != state.weigh.files)]
    world.store.write_setting(LAST_FILES, json.dumps(last[:3]))
    return _put(state, page="beam", stage=None, beam=result, judged=None)


def _act_on_beam(state: State, intent: Intent, world: World) -> State | None:
    """Begin a blind round, hear with names, look at what differs, choose another stretch or other files."""
    weigh, beam = state.weigh, state.weigh.beam
    assert beam is not None
    if weigh.page == "beam":
        typed = act_on_line(state, intent, world)
        if typed is not None:
            return typed
    if weigh.page == "names" and isinstance(intent, LISTENING):
        return _listen(state, intent, len(beam.names), world)
    if isinstance(intent, intents.GoBack):
        world.player.pause()
        if weigh.page in ("names", "differences"):
            return _put(state, page=weigh.back)
        return _put(state, page="files") if weigh.page == "beam" else _put(state, page="beam")
    if isinstance(intent, intents.GoOn):
        return _go_on(state, beam, world)
    if isinstance(intent, intents.GiveAnswer):
        return _choose_stretch(state, intent.text, world)
    return _do(state, intent, beam, world) if isinstance(intent, intents.Do) else None


def _go_on(state: State, beam: OnBeam, world: World) -> State:
    """Take the typed place, or begin what comes next."""
    if state.weigh.page == "beam" and state.typed.strip():
        return _choose_stretch(state, state.typed, world)
    kind = KINDS.get(find_following(beam, world))
    return (
        _put(state, page="beam")
        if kind is None
        else _begin_round(state, begin_weighing_round(beam, kind, world), world)
    )


def _do(state: State, intent: intents.Do, beam: OnBeam, world: World) -> State | None:
    """Do what one of the page's buttons says."""
    if intent.what == "round":
        return _begin_round(
            state, begin_weighing_round(beam, "apart" if intent.value == "apart" else "prefer", world), world
        )
    if intent.what == "names":
        keep_sighted(beam, world)
        return _show_names(_put(state, back=_find_back(state)), beam, world)
    if intent.what == "pair":
        first, second = (int(place) for place in intent.value.split())
        return _show_names(_put(state, pair=(first, second)), beam, world)
    if intent.what == "differences":
        world.player.pause()
        return _put(state, page="differences", back=_find_back(state))
    if intent.what == "verdict":
        return _put(state, page="verdict")
    if intent.what == "stretch":
        wished = beam.proposals[intent.value]
        length_s = wished.end_s - wished.start_s
        return begin_weighing(state, state.weigh.files, wished.start_s, length_s, world)
    if intent.what in ("copies", "page"):
        stretch, stem = beam.stretches[0], state.weigh.files[0].rsplit(".", 1)[0]
        job = BeamJob(state.weigh.files, stretch.start_s, stretch.end_s - stretch.start_s)
        copies = CopiesJob(job, f"{stem} matched")
        page = PageJob(job, f"{stem} weighed.html", world.notebook.list_rounds(beam.hashes))
        world.worker.submit(copies if intent.what == "copies" else page)
        return _put(state, page="working", stage=None)
    return _put(state, page="files", beam=None, judged=None) if intent.what == "files" else None


def _find_back(state: State) -> Page:
    """Give the page that was open before what is looked at: the verdict, or the beam."""
    return "verdict" if state.weigh.page == "verdict" else "beam"


def _choose_stretch(state: State, text: str, world: World) -> State:
    """Read a place in the song, in s or m:ss, and put that stretch on the beam."""
    parts = text.strip().split(":")
    try:
        start_s = float(parts[-1]) + (60 * int(parts[0]) if len(parts) == 2 else 0)
    except ValueError:
        raise BadValue("weigh", "begin", text.strip() or "nothing", "a place in s, or as minutes:seconds") from None
    return begin_weighing(state, state.weigh.files, start_s, None, world)


def _begin_round(state: State, held: Round, world: World) -> State:
    """Put the first question of a round that is still open."""
    beam = state.weigh.beam
    assert beam is not None
    return begin_blind(state, held, hear_beam(beam, held), world)


def take_weigh_round(state: State, held: Round, world: World) -> State:
    """Show what a complete round tells."""
    return _put(state, page="verdict", judged=held)


def _show_names(state: State, beam: OnBeam, world: World) -> State:
    """Let all be heard with their names, and the difference of a pair."""
    change, change_db = hear_difference(beam, 0, state.weigh.pair)
    world.player.load(np.concatenate([beam.sounds[0], change[None]]), beam.rate_hz)
    world.player.play()
    return _put(state, page="names", version=1, change_db=change_db)


def _listen(state: State, intent: Intent, count: int, world: World) -> State | None:
    """Switch between versions whose names are shown, and their difference."""
    if isinstance(intent, intents.ToggleSound):
        toggle_sound(world)
        return state
    if isinstance(intent, intents.OnlyWhatChanged):
        return _hear(state, 0, count, world)
    version = state.weigh.version
    if isinstance(intent, intents.ListenOther):
        version = (max(version, 1) - 1 + intent.step) % count + 1
    elif isinstance(intent, intents.Listen):
        version = intent.version
    return _hear(state, version, version - 1, world) if 1 <= version <= count else None


def _hear(state: State, version: int, sound: int, world: World) -> State:
    """Fade to a sound."""
    world.player.select(sound)
    world.player.play()
    return _put(state, version=version)


def _put(state: State, **changes: object) -> State:
    """Change where the weighing stands."""
    return replace(state, weigh=replace(state.weigh, **changes))  # type: ignore[arg-type]
