"""Set the release of a bus compressor: release and side-chain filter stepped on one loop, heard and measured."""

from __future__ import annotations

from trainer.decisions.compressor_settings import (
    ROUGHEST_DB,
    SettingGrid,
    SettingTried,
    Trouble,
    make_setting,
    name_setting,
    replace_setting,
)
from trainer.decisions.mix_jobs import SettingsHeard
from trainer.decisions.sheet import Candidate, place_in_chain
from trainer.session import intents
from trainer.session.blind import toggle_sound
from trainer.session.intents import Intent
from trainer.session.mixes import keys
from trainer.session.mixes.candidates import choose_candidate
from trainer.session.mixes.compressor_figures import draw_course, draw_map, name_corner
from trainer.session.mixes.moving import get_sheet, keep, put
from trainer.session.mixes.step_page import make_step_page
from trainer.session.pages import Balance, Choices, Loop, PageView, Part, Picture, Prose, Sheet, Table
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.view import Button, Waveform
from trainer.session.world import World
from trainer.units import begin_large, write_number, write_spread, write_time

UNTOUCHED, SET = 1, 2
NAMES = ("without it", "with this setting")
NONE = "none here"


def take_settings(state: State, tried: SettingsHeard, world: World) -> State:
    """Let the settings be heard, beginning with the candidate's own."""
    world.player.load(tried.sounds, tried.rate_hz)
    settings = tried.job.candidate.settings
    place = tried.grid.find_place(settings["release_ms"], settings["side_chain_hz"])
    return _hear(put(state, page="release", tried=tried, setting=place), SET, world)


def view_settings(state: State, world: World) -> PageView:
    """Word what is stepped on the left, what it measures on the right."""
    heard = _get_tried(state)
    grid, tried = heard.grid, heard.grid.tried[state.mix.setting]
    start, end = heard.stretch
    left: tuple[Part, ...] = (
        Sheet("Set the release", _offer_settings(grid, tried)),
        Sheet("With the names shown", _listen(state, heard), _word_job(heard)),
    )
    shown = (*_word_measured(grid, tried), Picture(draw_map(grid, state.mix.setting)))
    course = Picture(draw_course(grid, tried))
    right: tuple[Part, ...] = (
        Sheet("What this setting does", shown, _word_ripple(grid)),
        Sheet("How far it turns the song down", (course,), "S snare, K kick."),
    )
    return make_step_page(
        state,
        world,
        (left, right),
        keys.list_setting_keys(grid.corners_hz),
        dock=(Choices((Button("Use this setting", intents.GoOn(), main=True), Button("Back", intents.GoBack()))),),
        waveform=Waveform(heard.outline, write_time(start), write_time(end), "a loud stretch"),
        sounding=tell_sounding(state.mix.version, heard.sounds.shape[1], world),
    )


def act_on_settings(state: State, intent: Intent, world: World) -> State | None:
    """Step through the settings, listen, use one, or go back to the candidate."""
    grid = _get_tried(state).grid
    tried = grid.tried[state.mix.setting]
    if isinstance(intent, intents.GoBack):
        world.player.pause()
        return put(state, page="candidate", version=1)
    if isinstance(intent, intents.GoOn):
        return _use(state, tried, world)
    if isinstance(intent, intents.MoveControl):
        return _step(state, grid.move_place(state.mix.setting, intent.step), world)
    if isinstance(intent, intents.Do) and intent.what in ("release", "corner"):
        return _step(state, _find_asked(grid, tried, intent), world)
    if isinstance(intent, intents.ToggleSound):
        toggle_sound(world)
        return state
    if isinstance(intent, intents.ListenOther):
        return _hear(state, UNTOUCHED + SET - state.mix.version, world)
    if isinstance(intent, intents.Listen) and intent.version in (UNTOUCHED, SET):
        return _hear(state, intent.version, world)
    return None


def _get_tried(state: State) -> SettingsHeard:
    """Give the settings that are open."""
    assert state.mix.tried is not None
    return state.mix.tried


def _find_asked(grid: SettingGrid, tried: SettingTried, intent: intents.Do) -> int:
    """Find the place of a release or a filter that was asked for, the other one kept."""
    value = float(intent.value)
    if intent.what == "release":
        return grid.find_place(value, tried.corner_hz)
    return grid.find_place(tried.release_ms, value)


def _step(state: State, place: int, world: World) -> State:
    """Go to another setting; it is heard at once."""
    return _hear(put(state, setting=place), SET, world)


def _hear(state: State, version: int, world: World) -> State:
    """Hear the song without the compressor, or with the setting that is looked at."""
    world.player.select(0 if version == UNTOUCHED else 1 + state.mix.setting)
    world.player.play()
    return put(state, version=version)


def _use(state: State, tried: SettingTried, world: World) -> State:
    """Put the setting on the sheet as a candidate of its own, and have it rendered to be weighed."""
    heard, sheet = _get_tried(state), get_sheet(state)
    candidate = sheet.find_candidate(state.mix.chosen) or heard.job.candidate
    found = make_setting(candidate, heard.grid, tried, sheet)
    if found.candidate == state.mix.chosen:
        world.player.pause()
        return put(state, page="candidate", version=1)
    state = keep(state, replace_setting(sheet, found), world)
    return choose_candidate(put(state, heard=None), found, world)


def _offer_settings(grid: SettingGrid, tried: SettingTried) -> tuple[Part, ...]:
    """Offer releases and side-chain filters."""
    releases = tuple(
        Button(f"{write_number(each, 0)} ms", intents.Do("release", f"{each:g}"), selected=each == tried.release_ms)
        for each in grid.releases_ms
    )
    corners = tuple(
        Button(name_corner(each), intents.Do("corner", f"{each:g}"), selected=each == tried.corner_hz)
        for each in grid.corners_hz
    )
    return (
        Prose("Release: how long the gain takes to come back."),
        Choices(releases),
        Prose("Side-chain high-pass: what no longer steers."),
        Choices(corners),
    )


def _word_measured(grid: SettingGrid, tried: SettingTried) -> tuple[Part, ...]:
    """Word what the rendered loop shows with a setting, and which trouble appears."""
    rows = (
        ("gain back before the next hit", _write(tried.back_percent, "%", 0)),
        ("ripple on held bass, against the note", _write(tried.roughness_db, "dB", 0)),
        (f"reduction on the {grid.on}", _write(tried.reduction_db, "dB", 1)),
        ("reduction on the kick", _write(tried.kick_db, "dB", 1)),
    )
    first, *others = word_troubles(grid, tried)
    # The name in front: who is read to hears that the same trouble belongs to another setting now.
    named = f"{begin_large(name_setting(tried.settings))}: {first[0].lower()}{first[1:]}"
    return (Prose(named), *(Prose(line) for line in others), Table((), rows))


def word_troubles(grid: SettingGrid, tried: SettingTried) -> tuple[str, ...]:
    """Say which trouble appears with a setting, or that none does."""
    lead = (tried.kick_db or 0.0) - tried.reduction_db
    words: dict[Trouble, str] = {
        "held_down": "Too little of the gain is back before the next hit: the song is held down.",
        "rough": "The bass grows rough: the gain follows its wave.",
        "kick_steers": f"The kick is turned down {write_number(lead)} dB more than the snare: it steers.",
    }
    troubles = grid.find_troubles(tried)
    lines = [words[each] for each in troubles]
    if not {"held_down", "rough"} & set(troubles):
        smooth = "and the bass stays smooth" if tried.roughness_db is not None else "and no bass is held here"
        lines.insert(0, f"Most of the gain that can come back is back before the next hit, {smooth}.")
    return tuple(lines)


def _word_ripple(grid: SettingGrid) -> str:
    """Say that the bass is smooth whatever is set, where that was measured."""
    ripples = [each.roughness_db for each in grid.tried if each.roughness_db is not None]
    if not ripples or max(ripples) > ROUGHEST_DB:
        return ""
    return f"No setting here roughens the bass: the ripple lies at {write_number(max(ripples), 0)} dB or lower."


def _listen(state: State, heard: SettingsHeard) -> tuple[Part, ...]:
    """Let the song be heard without the compressor and with the setting."""
    versions = tuple(
        Button(f"{number}, {name}", intents.Listen(number), selected=state.mix.version == number)
        for number, name in enumerate(NAMES, 1)
    )
    words = f"all at {write_number(heard.loudness_lufs)} LUFS, within {write_spread(heard.spread_lu)}"
    return (Balance(versions, words), Loop())


def _word_job(heard: SettingsHeard) -> str:
    """Say what all settings share, and what is not heard here."""
    grid, candidate = heard.grid, heard.job.candidate
    attack = write_number(candidate.settings["attack_ms"], 0)
    words = (
        f"Every setting turns the {grid.on} down by {write_number(grid.reduction_db)} dB; the attack stays {attack} ms."
    )
    if _lie_behind(heard.job.kept, candidate):
        words += " Kept moves that come behind it in the chain are left out here."
    return words


def _lie_behind(kept: tuple[Candidate, ...], candidate: Candidate) -> bool:
    """Tell whether kept moves come behind a candidate."""
    return any(place_in_chain(each.move) > place_in_chain(candidate.move) for each in kept)


def _write(value: float | None, unit: str, digits: int) -> str:
    return NONE if value is None else f"{write_number(value, digits)} {unit}"
