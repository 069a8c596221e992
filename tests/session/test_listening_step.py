"""Head and tail of a song, each heard and decided by itself, by intents and by typed lines."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.decisions.test_finding_groups import make_runs
from tests.fakes import FakePlayer, FakeWorker, make_world
from tests.session.test_mixes import MIX, OPENED, get_sheet, read
from tests.text.typing import lead
from trainer.decisions.fade_proposals import FadeCheck
from trainer.decisions.mix_jobs import EdgeHeard, HearEdge, HearSong, SongHeard
from trainer.decisions.sheet import Fades, Finding, Tempo
from trainer.decisions.song_edges import Edge, SongEdges
from trainer.exercise.drill import Drill
from trainer.measure.faults.finding import Finding as Fault
from trainer.session import intents
from trainer.session.mixes.end_words import tell_reach, word_measured
from trainer.session.pages import PageView
from trainer.session.screens import Program
from trainer.session.world import World

EDGES = SongEdges(0.5, -58.0, -17.0, 174.0, 177.0, -90.0, 22.0)
NOISE = Finding("head_noise", 0.0, 0.5, measured=True, strength=-58.0, unit="LUFS")
FADES = Fades(0.4, 0.05, 178.0, 0.5)
CUT = FadeCheck(-30.0, -40.0, (Fault("abrupt_end", 179.9, 180.0, "both", -40.0, "dBFS"),), -math.inf, -31.0, -41.0)
CLEAN = FadeCheck(-90.0, -110.0, (), -86.0, -95.0, -118.0)
SONG = SongHeard(np.zeros((1, 18000, 2), np.float32), 100, (0.4,) * 200, 0.0, -20.0)
PLACE = replace(SONG, sounds=SONG.sounds[:, :400])


def hear_edge(fades: Fades, edge: Edge) -> EdgeHeard:
    """Give an end that can be heard."""
    sounds = np.zeros((2, 48000, 2), np.float32)
    outlines = (tuple(0.5 * n / 200 for n in range(200)), (0.5,) * 200)
    return EdgeHeard(fades, edge, sounds, 48000, outlines, 170.0 if edge == "tail" else -0.5, CLEAN, CUT)


def open_heard(world: World, more: tuple[Finding, ...] = ()) -> Program:
    """Open a mix with noise before its music, and hear the pass to its end."""
    findings = sorted((NOISE, *OPENED.findings, *more), key=lambda each: each.start_s)
    opened = replace(OPENED, findings=tuple(findings), fades=FADES, edges=EDGES)
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
    player = world.player
    assert isinstance(player, FakePlayer)
    for player.frame in (17000, 0):
        program.tick()
    assert program.state.mix.page == "step", "it has come round"
    return program


def open_kind(world: World) -> Program:
    """Open a mix with 144 clipped runs from 12 s on, and hear the strongest, of 60 samples, at 68 s."""
    program = open_heard(world, make_runs(144, 12.0, 1.0))
    give(world, replace(PLACE, start_s=66.0))
    program.act(intents.Do("kind", "clipped_run"))
    program.tick()
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
        "The room ends 3.0 s later, at 2:57.00",
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
    assert wanted.fade_out_s == 1.0 and wanted.curve_out == "linear" and wanted.curve_in == "raised_cosine"
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
    told = "120 beats a minute, 4 in a bar: bars of 2.00 s, counted from the first sound, at 0.50 s."
    assert told in read(program) and get_sheet(world).tempo == Tempo(120.0, 4, 0.5)
    give(world, hear_edge(replace(Fades(), end_s=178.0, fade_out_s=0.5), "tail"), hear_edge(Fades(), "tail"))
    program.act(intents.Do("edge", "tail"))
    program.tick()
    program.act(intents.Do("bar"))
    fading = program.state.mix.fading
    assert fading is not None and (178.0 - fading.tried.fade_out_s - 0.5) % 2.0 == pytest.approx(0.0, abs=1e-6)
    program.act(intents.MoveControl(1))
    longer = program.state.mix.fading
    assert longer is not None and longer.tried.fade_out_s == pytest.approx(fading.tried.fade_out_s + 2.0)
    assert "from a bar line" in read(program) and told in read(program)
    give(world, hear_edge(longer.tried, "tail"), hear_edge(longer.tried, "tail"))
    program.tick()
    program.act(intents.Do("decide", "leave"))
    assert "fade out over 3.5 s, raised cosine, from a bar line." in read(program)
    # Opened once more it is on the bar still, and goes on from bar to bar.
    program.act(intents.Do("edge", "tail"))
    program.tick()
    again = program.state.mix.fading
    assert again is not None and again.on_bar


def test_the_tempo_is_kept_over_a_new_start(world: World) -> None:
    """On the sheet: another start of the program knows it; on another mix bars are counted from its own first sound."""
    program = open_heard(world)
    program.act(intents.GiveAnswer("92 3"))
    give(world, replace(OPENED, edges=EDGES))
    program = Program(world)
    program.act(intents.GoTo("mixes"))
    program.act(intents.Do("project", "crane 4"))
    program.tick()
    program.act(intents.Do("step", "listen_through"))
    assert "92 beats a minute, 3 in a bar: bars of 1.96 s" in read(program)
    other = replace(OPENED, mix=replace(MIX, sha256="ef" * 32), edges=replace(EDGES, music_from_s=0.75))
    give(world, other)
    program = Program(world)
    program.act(intents.GoTo("mixes"))
    program.act(intents.Do("project", "crane 4"))
    program.tick()
    program.act(intents.Do("carry"))
    assert get_sheet(world).tempo == Tempo(92.0, 3, 0.75) and get_sheet(world).heard_to_s is None


def test_what_is_drawn_is_what_sounds(world: World) -> None:
    """With the fade the outline is that of the faded sound, without it that of the song as it is."""
    program, heard = open_heard(world), hear_edge(replace(Fades(), end_s=178.0, fade_out_s=0.5), "tail")
    give(world, heard)
    program.act(intents.Do("edge", "tail"))
    program.tick()
    for version, outline, words in ((1, heard.outlines[0], "with the fade"), (2, heard.outlines[1], "as it is")):
        program.act(intents.Listen(version))
        view = program.view()
        assert isinstance(view, PageView) and view.waveform is not None
        assert view.waveform.peaks == outline and view.waveform.caption == f"drawn {words}"


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
    give(world, PLACE, PLACE, hear_edge(Fades(0.4, 0.05), "head"))
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


def test_how_far_the_song_was_heard_is_kept(world: World) -> None:
    """A pass of 10 s, kept over a new start of the program; a shorter one later takes nothing back."""
    player, long = world.player, replace(SONG, sounds=np.zeros((1, 60 * 100, 2), np.float32), rate_hz=100)
    assert isinstance(player, FakePlayer)
    for frame, heard_s in ((1000, 10.0), (500, 10.0), (2000, 20.0)):
        give(world, replace(OPENED, edges=EDGES), long)
        program = Program(world)
        program.act(intents.GoTo("mixes"))
        program.act(intents.Do("project", "crane 4") if frame < 1000 else intents.DropFile(MIX.path))
        program.tick()
        program.act(intents.Do("step", "listen_through"))
        assert ("Heard to" in read(program)) == ("Listen again" in read(program)) == (frame != 1000)
        program.act(intents.Do("pass"))
        program.tick()
        player.frame = frame
        program.tick()
        program.act(intents.GoBack())
        player.frame = 0
        assert get_sheet(world).heard_to_s == heard_s and f"Heard to 0:{heard_s:.0f} of 3:00" in read(program)
        program.act(intents.Do("step", "delivery"))
        assert f"Heard to 0:{heard_s:.0f} of 3:00" in read(program)


def test_many_of_one_kind_are_one_row_and_one_decision(world: World) -> None:
    """144 runs are one row among three; one decision is that of all of them, and the click keeps its own."""
    program = open_heard(world, make_runs(144, 12.0, 1.0))
    assert "144 clipped runs, 0:12 to 2:35; the strongest at 1:08, 60 samples" in read(program)
    assert "Clipped run at" not in read(program)
    program.act(intents.Do("step", "delivery"))
    assert "1 kind is undecided of what was measured: 144 clipped runs." in read(program)
    program.act(intents.Do("step", "listen_through"))
    give(world, PLACE)
    program.act(intents.Do("finding", "31"))
    program.tick()
    assert "A click at 0:41" in read(program)
    program.act(intents.Do("decide", "mix"))
    give(world, replace(PLACE, start_s=66.0))
    program.act(intents.Do("kind", "clipped_run"))
    program.tick()
    program.act(intents.Do("decide", "keep"))
    decisions = [(each.kind, each.decision) for each in get_sheet(world).findings]
    assert decisions.count(("clipped_run", "keep")) == 144 and ("click", "mix") in decisions
    assert decisions[0] == ("head_noise", "open") and "stays" in read(program)
    program.act(intents.Do("step", "delivery"))
    assert "1 finding of the pass is undecided." in read(program) and "kind" not in read(program)


def test_the_strongest_of_a_kind_are_heard_by_digits(world: World) -> None:
    """Each 2 s before itself, the strongest first; of digits that come faster than the work the last is made."""
    program, worker = open_kind(world), world.worker
    assert isinstance(worker, FakeWorker) and worker.jobs[-1] == HearSong(MIX.path, 66.0, pytest.approx(70.001))
    # Of 60 samples there are two, 57 s apart; then follow those of 56 that lie 4 s or more from these.
    for words in ("At 1:08", "At 2:05", "At 1:04", "4 more within 2 s", "139 more, 4 to 59 samples."):
        assert words in read(program)
    worker.held_back = True
    program.act(intents.Listen(2))
    program.act(intents.Listen(3))
    program.act(intents.Listen(9))
    program.tick()
    assert [job.start_s for job in worker.jobs[-2:] if isinstance(job, HearSong)] == [66.0, 123.0]
    worker.held_back = False
    give(world, replace(PLACE, start_s=123.0), replace(PLACE, start_s=62.0))
    program.tick()
    program.tick()
    assert program.state.mix.song is not None and program.state.mix.song.start_s == 62.0
    assert program.state.mix.page == "finding" and program.state.mix.version == 3 and not worker.cancelled
    worker.failure = "work: process=ended, expected one that runs; try again"
    program.act(intents.ListenOther(-1))
    program.tick()
    assert program.state.message == worker.failure and program.state.mix.version == 3


def test_one_of_a_kind_can_be_decided_by_itself(world: World) -> None:
    """It keeps its decision and its row when all others are decided, and decided again."""
    program = open_kind(world)
    program.act(intents.Do("alone"))
    assert "Clipped run at 1:08, measured, 60 samples" in read(program)
    program.act(intents.Do("decide", "mix"))
    assert "143 clipped runs" in read(program) and "Clipped run at 1:08, measured, 60 samples" in read(program)
    for decision in ("mix", "keep"):
        give(world, PLACE)
        program.act(intents.Do("kind", "clipped_run"))
        program.tick()
        program.act(intents.Do("decide", decision))
    runs = [each.decision for each in get_sheet(world).findings if each.kind == "clipped_run"]
    assert runs.count("keep") == 143 and runs[56] == "mix"


def test_a_terminal_decides_on_a_kind_too(world: World) -> None:
    """By the words of the offers: the row of the kind, the second place by its digit, all fixed in the mix."""
    program = open_heard(world, make_runs(144, 12.0, 1.0))
    give(world, replace(PLACE, start_s=66.0), replace(PLACE, start_s=123.0))
    row = "[144 clipped runs, 0:12 to 2:35; the strongest at 1:08, 60 samples]"
    said = lead(program, (row, "2", "[Fix them in the mix]"))
    assert "139 more, 4 to 59 samples." in said and "Clipped run at" not in said
    assert sum(each.decision == "mix" for each in get_sheet(world).findings) == 144


def test_what_is_measured_is_said_with_units() -> None:
    """Both versions beside each other; a room that is cut off is told in seconds (arithmetic)."""
    rows = {row[0]: row[1:] for row in word_measured(hear_edge(FADES, "tail"), 180.0)}
    head = hear_edge(FADES, "head")
    head = replace(head, faded=replace(CLEAN, cut_before_lufs=-58.0))
    there = {row[0].replace("first", "last"): row[1:] for row in word_measured(head, 180.0)}
    assert list(there) == list(rows) and there["Loudest of what is cut away"] == ("−58.0 LUFS", "nothing")
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
