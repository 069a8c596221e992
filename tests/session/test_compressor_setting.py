"""The release of a bus compressor set on one's own song, by intents, with a world of stand-ins."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.decisions.sheets import make_candidate
from tests.fakes import FakePlayer, FakeWorker, make_world
from tests.session.test_mixes import answer_all, get_sheet, hear, open_mix, prefer, read
from trainer.decisions.compressor_settings import SettingGrid, SettingTried
from trainer.decisions.mix_jobs import HearMoves, Proposed, SettingsHeard, TrySettings
from trainer.decisions.sheet import Candidate
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.pages import PageView
from trainer.session.screens import Program
from trainer.session.world import World
from trainer.text.drill import Terminal
from trainer.text.pages import TextProgram

RELEASES_MS, CORNERS_HZ = (50.0, 120.0, 300.0), (0.0, 100.0)
COMPRESSOR = make_candidate(
    "bus_compression",
    "compressor",
    amount=1.5,
    reason="Hits stand out.",
    settings=make_candidate("c", "compressor").settings | {"release_ms": 120.0},
    results={"release_window_from_ms": 50.0, "release_window_to_ms": 120.0},
)


def make_tried(release_ms: float, corner_hz: float, **changes: Any) -> SettingTried:
    """Make a setting: only the slowest release holds the song down; the kick steers without a filter."""
    settings = COMPRESSOR.settings | {"release_ms": release_ms, "side_chain_hz": corner_hz}
    back = {50.0: 90.0, 120.0: 80.0, 300.0: 40.0}[release_ms]
    course = tuple(np.linspace(1.4, 0.2, 600).tolist())
    return replace(SettingTried(settings, 1.4, 1.2 if corner_hz else 3.0, 1.6, 0.6, back, -55.0, course), **changes)


def make_settings(candidate: Candidate = COMPRESSOR) -> SettingsHeard:
    """Give six settings that can be heard."""
    tried = tuple(make_tried(ms, hz) for hz in CORNERS_HZ for ms in RELEASES_MS)
    grid = SettingGrid(RELEASES_MS, CORNERS_HZ, tried, "snare", 1.4, snares_s=(0.5, 1.5), kicks_s=(0.0, 1.0))
    sounds = np.zeros((7, 4800, 2), np.float32)
    job = TrySettings("/music/crane 4.wav", candidate, ())
    return SettingsHeard(job, grid, sounds, 48000, (10.0, 18.0), -20.0, 0.001, (0.5,) * 200)


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins."""
    return make_world({"limiting": drills["limiting"]})


def open_candidate(world: World, *results: object) -> Program:
    """Open the page of the compressor that is proposed, with what the works after that bring."""
    program = open_mix(world, Proposed("sweetening", (COMPRESSOR,)), hear(), *results)
    program.act(intents.Do("step", "sweetening"))
    program.act(intents.Do("find"))
    program.tick()
    program.act(intents.Do("candidate", "bus_compression"))
    program.tick()
    return program


def open_settings(world: World, *results: object) -> Program:
    """Open the settings, with what the works after that bring."""
    program = open_candidate(world, make_settings(), *results)
    program.act(intents.Do("settings"))
    program.tick()
    return program


def get_player(world: World) -> FakePlayer:
    """Give the player that remembers."""
    assert isinstance(world.player, FakePlayer)
    return world.player


def test_the_candidate_shows_the_window_and_leads_to_the_settings(world: World) -> None:
    """The releases that fit are drawn, not listed among what the whole song measures; the job knows what is kept."""
    program = open_candidate(world, make_settings())
    shown = read(program)
    assert "Releases that fit: from 50 to 120 ms; this one: 120 ms." in shown and "release window" not in shown
    program.act(intents.Do("settings"))
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    job = worker.jobs[-1]
    assert isinstance(job, TrySettings) and job.candidate.candidate == "bus_compression" and job.kept == ()


def test_stepping_is_heard_at_once_and_says_which_trouble_appears(world: World) -> None:
    """One load, then only switches; each setting has its figures and its sentence."""
    program, player = open_settings(world), get_player(world)
    assert player.loaded[-1] == 7 and player.playing and player.selected == 2
    shown = read(program)
    assert "Release 120 ms, no side-chain filter" in shown and "80 %" in shown and "−55 dB" in shown
    assert "The kick is turned down 1.6 dB more than the snare: it steers." in shown
    assert "No setting here roughens the bass: the ripple lies at −55 dB or lower." in shown
    loads = len(player.loaded)
    program.act(intents.MoveControl(1))
    assert player.selected == 3 and "the song is held down" in read(program)
    program.act(intents.MoveControl(1))
    assert player.selected == 3, "the longest release is the last one"
    program.act(intents.Do("corner", "100"))
    assert player.selected == 6 and "it steers." not in read(program)
    program.act(intents.Do("release", "50"))
    assert player.selected == 4 and "the bass stays smooth" in read(program)
    program.act(intents.ListenOther(1))
    assert player.selected == 0
    program.act(intents.Listen(2))
    assert player.selected == 4 and len(player.loaded) == loads
    program.act(intents.ToggleSound())
    assert not player.playing
    program.act(intents.MoveControl(1))
    assert player.selected == 5 and player.playing


def test_no_key_means_two_things(world: World) -> None:
    """Every key of the page is bound once."""
    view = open_settings(world).view()
    assert isinstance(view, PageView)
    names = [name for key in view.frame.keys for name, _ in key.bindings]
    assert len(names) == len(set(names)) and {"up", "down", "left", "right", "1", "2", "q", "w"} <= set(names)


def test_a_setting_that_is_used_is_weighed_without_the_rounds_of_another(world: World) -> None:
    """Twelve picks for the first setting stay with it; the second one begins untried, heard without the first."""
    program = open_candidate(world, make_settings(), hear())
    program.act(intents.GoOn())
    answer_all(program, prefer(1))
    assert get_sheet(world).candidates[0].verdict == "keep"
    program.act(intents.Do("settings"))
    program.tick()
    program.act(intents.Do("corner", "100"))
    program.act(intents.GoOn())
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    job = worker.jobs[-1]
    assert isinstance(job, HearMoves) and job.without == ()
    assert [each.candidate for each in job.with_them] == ["bus_compression_120_ms_100_hz"]
    program.tick()
    first, second = get_sheet(world).candidates
    assert len(first.rounds) == 1 and second.rounds == () and second.verdict == "untried"
    assert second.settings["side_chain_hz"] == 100.0 and second.results["low_band_db"] == -0.9
    shown = read(program)
    assert "Bus compressor, 1.6 dB, release 120 ms, side-chain 100 Hz" in shown and "Not yet weighed." in shown
    assert "no evidence for this one: release 120 ms, no side-chain filter: preferred with it." in shown


def test_of_two_settings_one_is_kept(world: World) -> None:
    """The first one was kept; the second takes its place in the chain, and the sheet says so."""
    program = open_candidate(world, hear(), make_settings(), hear())
    program.act(intents.Do("keep"))
    program.act(intents.Do("candidate", "bus_compression"))
    program.tick()
    program.act(intents.Do("settings"))
    program.tick()
    program.act(intents.Do("release", "50"))
    program.act(intents.GoOn())
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    job = worker.jobs[-1]
    assert isinstance(job, HearMoves) and job.without == () and len(job.with_them) == 1
    program.tick()
    program.act(intents.Do("keep"))
    sheet = get_sheet(world)
    assert [each.candidate for each in sheet.list_kept()] == ["bus_compression_50_ms"]
    left = sheet.find_candidate("bus_compression")
    assert left is not None and left.decision == "leave" and "release 50 ms" in left.note


def test_the_same_setting_and_the_way_back_change_nothing(world: World) -> None:
    """The candidate's own setting is the candidate; Esc leaves the sheet as it was."""
    program = open_settings(world)
    before = get_sheet(world)
    program.act(intents.GoOn())
    assert program.state.mix.page == "candidate" and get_sheet(world) == before
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    worker.results.append(make_settings())
    program.act(intents.Do("settings"))
    program.tick()
    program.act(intents.MoveControl(1))
    program.act(intents.GoBack())
    assert program.state.mix.page == "candidate" and get_sheet(world) == before and not get_player(world).playing


def test_work_on_the_settings_can_be_cancelled(world: World) -> None:
    """Back to the candidate, which can still be heard; a song without hits says so in a line."""
    program = open_candidate(world)
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    worker.held_back = True
    program.act(intents.Do("settings"))
    program.tick()
    program.act(intents.GoBack())
    assert worker.cancelled and program.state.mix.page == "candidate" and "Hits stand out." in read(program)
    worker.held_back, worker.failure = False, "set the release: hits=0, expected drums on the loud stretch"
    program.act(intents.Do("settings"))
    program.tick()
    assert program.state.message == worker.failure and program.state.mix.page == "candidate"


def test_words_are_enough(world: World) -> None:
    """In a terminal: the figures in words, offers by number, more and less for the release."""
    program = open_settings(world, hear())
    out, errors = io.StringIO(), io.StringIO()
    lines = ["+", "=100 Hz", "=1", "=use this setting"]
    TextProgram(program, Terminal(iter(lines), out, errors, False)).play()
    words = out.getvalue()
    assert errors.getvalue() == ""
    assert "Release 120 ms, no side-chain filter" in words and "gain back before the next hit; 80 %" in words
    assert "Releases that fit, no filter: 50 to 120 ms; 100 Hz: 50 to 120 ms." in words
    assert words.count("Release 300 ms, no side-chain filter: too little of the gain is back") == 1
    assert get_sheet(world).candidates[0].candidate == "bus_compression_50_ms_100_hz"
