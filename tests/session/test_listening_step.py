"""Head and tail of a song, each heard and decided by itself, by intents and by typed lines."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.fakes import FakePlayer, FakeWorker, make_world
from tests.session.test_mixes import MIX, OPENED, get_sheet, read
from tests.text.typing import lead
from trainer.decisions.fade_proposals import FadeCheck
from trainer.decisions.mix_jobs import EdgeHeard, HearEdge, SongHeard
from trainer.decisions.sheet import Fades, Finding
from trainer.decisions.song_edges import Edge, SongEdges
from trainer.exercise.drill import Drill
from trainer.measure.faults.finding import Finding as Fault
from trainer.session import intents
from trainer.session.mixes.end_words import tell_reach, word_measured
from trainer.session.screens import Program
from trainer.session.world import World

EDGES = SongEdges(0.5, -58.0, -17.0, 174.0, 177.0, -90.0, 22.0)
NOISE = Finding("head_noise", 0.0, 0.5, measured=True, strength=-58.0, unit="LUFS")
FADES = Fades(0.4, 0.05, 178.0, 0.5)
CUT = FadeCheck(-30.0, -40.0, (Fault("abrupt_end", 179.9, 180.0, "both", -40.0, "dBFS"),), -86.0, -31.0, -41.0)
CLEAN = FadeCheck(-90.0, -110.0, (), -86.0, -95.0, -118.0)
SONG = SongHeard(np.zeros((1, 4800, 2), np.float32), 48000, (0.1,) * 200, 0.0, -20.0)


def hear_edge(fades: Fades, edge: Edge) -> EdgeHeard:
    """Give an end that can be heard."""
    sounds = np.zeros((2, 48000, 2), np.float32)
    return EdgeHeard(fades, edge, sounds, 48000, (0.5,) * 200, 170.0 if edge == "tail" else -0.5, CLEAN, CUT)


def open_heard(world: World) -> Program:
    """Open a mix with noise before its music, and hear the pass to its end."""
    opened = replace(OPENED, findings=(NOISE, *OPENED.findings), fades=FADES, edges=EDGES)
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    worker.results += [opened, SONG]
    program = Program(world)
    program.act(intents.GoTo("mixes"))
    program.act(intents.DropFile(MIX.path))
    program.tick()
    program.act(intents.Do("step", "listen_through"))
    assert "The head" not in read(program), "nothing is measured before the pass"
    program.act(intents.Do("pass"))
    program.tick()
    program.act(intents.GoBack())
    return program


def give(world: World, *results: object) -> FakeWorker:
    """Let the next works bring these."""
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    worker.results += results
    return worker


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins."""
    return make_world({"limiting": drills["limiting"]})


def test_both_ends_are_told_with_what_was_measured(world: World) -> None:
    """Start, noise before it, decay, end of the room: the figures that were found."""
    said = read(open_heard(world))
    for words in (
        "The music starts at 0.50 s.",
        "noise of −58.0 LUFS, 41 LU under the song",
        "falls by about 22 dB a second",
        "The room ends 3.0 s later, at 177.00 s",
    ):
        assert words in said


def test_the_head_is_heard_with_and_without_and_taken_alone(world: World) -> None:
    """The tail stays as it was, the noise is taken by the fade, and the click amid the song is left alone."""
    program = open_heard(world)
    worker = give(world, hear_edge(replace(Fades(), start_s=0.4, fade_in_s=0.05), "head"))
    program.act(intents.Do("edge", "head"))
    job = worker.jobs[-1]
    assert isinstance(job, HearEdge) and job.fades == Fades(0.4, 0.05, None, 0.0)
    program.tick()
    player = world.player
    assert isinstance(player, FakePlayer) and player.selected == 0
    program.act(intents.Listen(2))
    assert player.selected == 1
    assert "It is over 50 ms before the first sound." in read(program)
    program.act(intents.GoOn())
    sheet = get_sheet(world)
    assert sheet.fades == Fades(0.4, 0.05, None, 0.0)
    assert [each.decision for each in sheet.findings] == ["leave", "open"]
    assert "Taken: starts at 0.40 s, fade in over 50 ms, raised cosine." in read(program)


def test_a_fade_is_changed_in_steps_while_the_one_before_sounds(world: World) -> None:
    """Of steps that come faster than the work the last is made; the page stays, and nothing is cancelled."""
    program = open_heard(world)
    tail = replace(Fades(), end_s=178.0, fade_out_s=0.5)
    worker = give(world, hear_edge(tail, "tail"))
    program.act(intents.Do("edge", "tail"))
    program.tick()
    worker.held_back, before = True, len(worker.jobs)
    for _ in range(2):
        program.act(intents.MoveControl(1))
    program.act(intents.Do("curve", "linear"))
    program.tick()
    assert program.state.mix.page == "finding" and "making the fade" in read(program)
    assert len(worker.jobs) == before + 1
    wanted = program.state.mix.fading.tried if program.state.mix.fading is not None else Fades()
    assert wanted.fade_out_s == 1.0 and wanted.curve == "linear"
    worker.held_back = False
    first = worker.jobs[-1]
    assert isinstance(first, HearEdge)
    give(world, hear_edge(first.fades, "tail"), hear_edge(wanted, "tail"))
    program.tick()
    assert worker.jobs[-1] == HearEdge(MIX.path, wanted, "tail")
    program.tick()
    assert "making the fade" not in read(program) and not worker.cancelled
    program.act(intents.Do("decide", "leave"))
    assert get_sheet(world).fades == replace(wanted, start_s=0.0)


def test_a_tempo_lets_a_fade_begin_on_a_bar(world: World) -> None:
    """120 in four from 0.5 s: bar lines at 0.5 + 2 n; the fade to 178 s begins on one of them (arithmetic)."""
    program = open_heard(world)
    program.act(intents.GiveAnswer("nothing"))
    assert "beats per minute" in program.state.message
    program.act(intents.TypeText("120"))
    program.act(intents.GoOn())
    assert "Bars of 2.00 s" in read(program)
    give(world, hear_edge(replace(Fades(), end_s=178.0, fade_out_s=0.5), "tail"), hear_edge(Fades(), "tail"))
    program.act(intents.Do("edge", "tail"))
    program.tick()
    program.act(intents.Do("bar"))
    fading = program.state.mix.fading
    assert fading is not None and (178.0 - fading.tried.fade_out_s - 0.5) % 2.0 == pytest.approx(0.0, abs=1e-6)
    program.act(intents.MoveControl(1))
    longer = program.state.mix.fading
    assert longer is not None and longer.tried.fade_out_s == pytest.approx(fading.tried.fade_out_s + 2.0)


def test_an_end_goes_back_to_the_mix_or_stays(world: World) -> None:
    """What is sent back is a finding of its own; what stays has no fade."""
    program = open_heard(world)
    program.act(intents.Do("fades", "take"))
    assert get_sheet(world).fades == FADES and get_sheet(world).findings[0].decision == "leave"
    give(world, hear_edge(FADES, "tail"))
    program.act(intents.Do("edge", "tail"))
    program.tick()
    program.act(intents.Do("decide", "mix"))
    sheet = get_sheet(world)
    assert sheet.findings[-1].decision == "mix" and sheet.findings[-1].start_s == MIX.duration_s
    assert sheet.fades == Fades(0.4, 0.05) and "It goes back to the mix." in read(program)


def test_a_fade_is_offered_where_it_reaches(world: World) -> None:
    """Noise before the music leads to the head; a click at 41 s can be mended or kept, and it is said why not faded."""
    program = open_heard(world)
    give(world, SONG, SONG, hear_edge(Fades(0.4, 0.05), "head"))
    program.act(intents.Do("finding", "1"))
    program.tick()
    assert "A fade reaches the head and the tail" in read(program) and "Fade the" not in read(program)
    program.act(intents.GoBack())
    program.act(intents.Do("finding", "0"))
    program.tick()
    assert "Fade the head" in read(program)
    program.act(intents.Do("edge", "head"))
    program.tick()
    assert program.state.mix.chosen == "head" and "with the fade" in read(program)


def test_what_is_measured_is_said_with_units() -> None:
    """Both versions beside each other; a room that is cut off is told in seconds (arithmetic)."""
    rows = {row[0]: row[1:] for row in word_measured(hear_edge(FADES, "tail"), 180.0)}
    assert rows["Peak of the last millisecond"] == ("−110.0 dBFS", "−40.0 dBFS")
    assert rows["Largest step there"] == ("−118.0 dBFS", "−41.0 dBFS")
    assert rows["Cuts, noise, new clicks"] == ("none", "abrupt end")
    assert "cuts the room off 1.5 s before it ends" in tell_reach(replace(FADES, end_s=175.5), "tail", EDGES, 180.0)[1]
    assert "300 ms into the music" in tell_reach(replace(FADES, fade_in_s=0.4), "head", EDGES, 180.0)[1]


def test_a_terminal_decides_on_an_end_too(world: World) -> None:
    """By the words of the offers: hear the tail, make it longer, take it."""
    program = open_heard(world)
    tail = replace(Fades(), end_s=178.0, fade_out_s=0.5)
    give(world, hear_edge(tail, "tail"), hear_edge(replace(tail, fade_out_s=0.75), "tail"))
    said = lead(program, ("[Hear the tail]", "2", "[Longer]", "[Take this fade]"))
    assert "It begins 500 ms after the room has ended." in said and "Peak of the last millisecond" in said
    assert get_sheet(world).fades.fade_out_s == 0.75
