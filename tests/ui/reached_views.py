"""Every view that a person can come to, reached by intents in a world of stand-ins, by name."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.fakes import FakeFiles, FakeWorker, MemoryStore, make_world
from tests.session import test_mixes, test_weigh
from tests.session.test_place_words import DAY, list_pages
from tests.ui.reached_steps import reach_steps
from tests.ui.reached_trials import RATE_HZ, Reached, reach_edges, reach_runs
from tests.week.quick import make_stored
from trainer.decisions.mix_jobs import BandMarks, BounceChecked, Delivered, Proposed, SongHeard, SongsCompared
from trainer.decisions.rounds import Round
from trainer.decisions.sheet import Bounced, Finding, Loudness, Rung
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.intents import Do, DropFile, GiveAnswer, GoBack, GoOn, GoTo, MarkNow, TypeText
from trainer.session.pages import View
from trainer.session.screens import Program
from trainer.session.world import World

SONG = SongHeard(np.zeros((1, RATE_HZ * 60, 2), np.float32), RATE_HZ, (0.3,) * 200, 0.0, -20.0)
REFERENCES = ("/music/first of the ropewalk.wav", "/music/slow tide.wav", "/music/harbour at seven, mastered.flac")
BANDS = (
    BandMarks("20–60 Hz", 1.1, (-2.5, 0.4, 2.8)),
    BandMarks("60–120 Hz", 2.9, (-1.8, -0.3, 1.6)),
    BandMarks("120–250 Hz", 0.6, (-1.2, 0.1, 1.4)),
    BandMarks("250–500 Hz", 0.9, (-1.0, 0.2, 1.1)),
    BandMarks("0.5–2 kHz", -0.4, (-0.9, 0.0, 0.8)),
    BandMarks("2–5 kHz", -0.7, (-1.4, 0.2, 1.3)),
    BandMarks("5–10 kHz", -1.2, (-1.6, -0.2, 1.9)),
    BandMarks("10–20 kHz", -1.6, (-2.0, 0.3, 2.2)),
    BandMarks("Width, 120–250 Hz", 1.0, (0.0, 1.0, 2.0)),
    BandMarks("Peaks", -1.0, (0.0, 1.0, 2.0)),
)
COMPARED = SongsCompared(
    BANDS, ("h1", "h2", "h3"), REFERENCES, (test_mixes.SHELF,),
    ("About 315 Hz a third octave stands 5.6 dB out of those beside it, and does not in the references.",),
)  # fmt: skip
RUNGS = tuple(
    Rung(
        lufs, lufs, 3.0 + n,
        {"reduction_on_hits_db": 2.0 + n, "hits_over_song_after_db": 9.0 - n, "added_percent": 0.2 * n,
         "turned_down_streaming_db": float(n)},
    )
    for n, lufs in enumerate((-16.0, -14.0, -12.5, -11.0))
)  # fmt: skip
CHECKED = Delivered(
    (
        BounceChecked(
            Bounced("/music/crane 4 master.wav", "cd" * 32, RATE_HZ, 24, -14.0, -1.1, "pass"),
            ("Loudness −14.0 LUFS, within 0.2 dB of the sheet's −14.0 LUFS.", "True peak −1.1 dBTP."),
        ),
    ),
    made=True,
)
WIDTH = replace(
    test_mixes.SHELF, candidate="width_1", step="sweetening", move="width", settings={"side_gain_db": 1.0},
    reason="The sides lie 12 dB under the middle.",
)  # fmt: skip


def reach_all(drills: dict[str, Drill]) -> dict[str, View]:
    """Give every view by name; one that looks like one before it is left out."""
    found: dict[str, View] = {}
    for reach in (reach_runs, reach_edges, _reach_places, _reach_weighing, _reach_mix, _reach_mix_end, reach_steps):
        for name, view in reach(drills):
            assert name not in found, name
            if view not in found.values():
                found[name] = view
    return found


def _reach_places(drills: dict[str, Drill]) -> Reached:
    """Show today, Drills, Progress, Setup and the first start, with a history and without."""
    few = {name: drills[name] for name in ("set_up_low", "high_shelf_8k", "saturation", "which_band")}
    trials = [
        make_stored(drill, DAY - day, n, correct=n % 3 > 0, setup=setup)
        for setup in ("headphones", "monitors")
        for drill in (few["high_shelf_8k"], few["saturation"])
        for day in range(11)
        for n in range(2)
    ]
    full = make_world(few, store=MemoryStore(trials, {"cautions_seen": "yes"}))
    yield "today", Program(full).view()
    for kind, world in (("full", full), ("empty", make_world(few, setup=""))):
        for number, page in enumerate(list_pages(world)):
            yield f"places-{kind}-{number}", page
    every = Program(make_world(drills))
    every.act(GoTo("drills"))
    yield "drills-all", every.view()
    every.act(TypeText("no such drill"))
    yield "drills-none-found", every.view()


def _reach_weighing(drills: dict[str, Drill]) -> Reached:
    """Show Weigh from no files to the verdict."""
    names = tuple(f"/home/ines/music/bounces/{name}" for name in test_weigh.NAMES[:2])
    files = FakeFiles((*names, "/home/ines/music/bounces/crane_mastered_at_the_old_ropewalk_for_the_record_club.wav"))
    worker = FakeWorker([test_weigh.make_beam() for _ in range(3)])
    world = make_world({"limiting": drills["limiting"]}, worker=worker, files=files)
    program = Program(world)
    program.act(GoTo("weigh"))
    yield "weigh-empty", program.view()
    for name in names:
        program.act(DropFile(name))
    program.act(TypeText("/home/ines/music/"))
    yield "weigh-typing", program.view()
    program.act(intents.EraseText(whole=True))
    yield "weigh-files", program.view()
    program.act(DropFile(names[0]))
    yield "weigh-twice", program.view()
    worker.held_back = True
    program.act(GoOn())
    program.tick()
    yield "weigh-working", program.view()
    worker.held_back = False
    program.tick()
    yield "weigh-beam", program.view()
    program.act(Do("names"))
    yield "weigh-names", program.view()
    program.act(GoBack())
    program.act(Do("differences"))
    yield "weigh-differences", program.view()
    program.act(GoBack())
    program.act(GoOn())
    yield "weigh-ask", program.view()
    test_weigh.answer_all(program, lambda held: "1")
    yield "weigh-undecided", program.view()
    program.act(GoOn())
    yield "weigh-apart", program.view()
    test_weigh.answer_all(program, lambda held: held.asked[len(held.answers)].right_answer)
    yield "weigh-told-apart", program.view()
    program.act(GoOn())
    test_weigh.answer_all(program, test_weigh.prefer(0))
    yield "weigh-verdict", program.view()


def _reach_mix(drills: dict[str, Drill]) -> Reached:
    """Show a mix from its aim to the sweetening."""
    proposed = Proposed("balance", (test_mixes.PASS_HIGH,), ("It takes 14 dB below 20 Hz.",))
    sweet = Proposed("sweetening", (WIDTH,), ("Multiband: no band moves by itself.",))
    results = (SONG, SONG, COMPARED, test_mixes.hear(), proposed, test_mixes.hear(), sweet)
    world = make_world({"limiting": drills["limiting"]})
    first = Program(world)
    first.act(GoTo("mixes"))
    yield "mix-none", first.view()
    program = test_mixes.open_mix(world, *results)
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    yield "mix-aim-first", program.view()
    for line in ("muddy at the start", "the voice is close", "ends too soon"):
        program.act(GiveAnswer(line))
    yield "mix-aim", program.view()
    program.act(Do("target", "streaming"))
    yield "mix-aim-target", program.view()
    program.act(Do("step", "listen_through"))
    yield "mix-listen-first", program.view()
    program.act(Do("pass"))
    worker.held_back = True
    program.tick()
    yield "mix-working", program.view()
    worker.held_back = False
    program.tick()
    for second, kind in ((12, "harsh_s"), (42, "click")):
        world.player.frame = RATE_HZ * second  # type: ignore[attr-defined]
        program.tick()
        program.act(MarkNow(kind))
    yield "mix-pass", program.view()
    world.player.frame = 0  # type: ignore[attr-defined]
    program.tick()
    yield "mix-listen", program.view()
    program.act(Do("finding", "1"))
    program.tick()
    yield "mix-finding", program.view()
    program.act(Do("decide", "mix"))
    program.act(Do("step", "balance"))
    yield "mix-balance-first", program.view()
    for name in REFERENCES:
        program.act(DropFile(name))
    yield "mix-balance-songs", program.view()
    program.act(Do("compare"))
    program.tick()
    yield "mix-balance", program.view()
    program.act(Do("candidate", "low_shelf_110"))
    program.tick()
    yield "mix-candidate", program.view()
    program.act(GoOn())
    yield "mix-candidate-ask", program.view()
    test_mixes.answer_all(program, lambda held: "1")
    yield "mix-candidate-undecided", program.view()
    program.act(GoOn())
    test_mixes.answer_all(program, lambda held: "1")
    yield "mix-candidate-heard", program.view()
    program.act(Do("keep"))
    yield "mix-balance-kept", program.view()
    program.act(Do("bottom"))
    program.tick()
    program.act(Do("candidate", "high_pass_20"))
    program.tick()
    yield "mix-hygiene", program.view()
    program.act(GoBack())
    program.act(Do("step", "sweetening"))
    yield "mix-sweetening-first", program.view()
    program.act(Do("find"))
    program.tick()
    yield "mix-sweetening", program.view()
    yield "mix-projects", _open_again(world).view()


def _reach_mix_end(drills: dict[str, Drill]) -> Reached:
    """Show loudness and delivery, and a mix that has changed."""
    rungs = Loudness(RUNGS, settings={"ceiling_dbtp": -1.0})
    world = make_world({"limiting": drills["limiting"]})
    heard = test_mixes.hear(4, 2, loudness=rungs, kind="rungs")
    program = test_mixes.open_mix(world, heard, test_mixes.hear(2, 3), CHECKED, SONG)
    program.act(Do("target", "streaming"))
    program.act(Do("step", "loudness"))
    yield "mix-loudness-first", program.view()
    program.act(Do("try", "around"))
    program.tick()
    yield "mix-loudness-heard", program.view()
    for _ in range(2):
        program.act(GoOn())
        test_mixes.answer_all(program, _like_the_second)
    yield "mix-loudness", program.view()
    program.act(Do("step", "delivery"))
    yield "mix-delivery-first", program.view()
    sheet = test_mixes.get_sheet(world).with_candidate(replace(test_mixes.SHELF, decision="keep"))
    program.state = replace(program.state, mix=replace(program.state.mix, sheet=sheet))
    program.act(Do("whole", "whole"))
    program.tick()
    yield "mix-whole-ask", program.view()
    test_mixes.answer_all(program, test_mixes.prefer(1))
    yield "mix-delivery-whole", program.view()
    program.act(GoOn())
    program.tick()
    yield "mix-delivery", program.view()
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    mix = replace(test_mixes.OPENED, mix=replace(test_mixes.MIX, sha256="ef" * 32))
    worker.results = [replace(mix, findings=(Finding("hum", 0.0, 0.0, measured=True),))]
    changed = Program(world)
    changed.act(GoTo("mixes"))
    changed.act(Do("project", "crane 4"))
    changed.tick()
    yield "mix-changed", changed.view()


def _like_the_second(held: Round) -> str:
    """Like the second rung best."""
    left, right = held.asked[len(held.answers)].sounds
    return "1" if abs(left - 1) <= abs(right - 1) else "2"


def _open_again(world: World) -> Program:
    """Come to My mixes anew."""
    program = Program(world)
    program.act(GoTo("mixes"))
    return program
