"""A mix from its aim to its checked bounce, by intents, with a world of stand-ins."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.fakes import FakeClock, FakePlayer, FakeWorker, MemoryProjects, make_world
from trainer.decisions.intake import IntakeItem
from trainer.decisions.mix_jobs import (
    BandMarks,
    BounceChecked,
    CheckFile,
    Delivered,
    HearMoves,
    MakeBounce,
    MixOpened,
    Propose,
    Proposed,
    SongHeard,
    SongsCompared,
    TryRungs,
    VersionsHeard,
)
from trainer.decisions.rounds import Round
from trainer.decisions.sheet import Bounced, Candidate, Fades, Finding, Loudness, MixFile, Rung, Sheet
from trainer.exercise.drill import Drill
from trainer.session import intents
from trainer.session.day import plan_day
from trainer.session.enter import find_main
from trainer.session.pages import PageView
from trainer.session.screens import Program
from trainer.session.world import World

MIX = MixFile("/music/crane 4.wav", "ab" * 32, 48000, 180.0, -17.0, -3.0)
OPENED = MixOpened(
    MIX,
    (
        IntakeItem("peaks", "pass", "No top is cut."),
        IntakeItem("limiter", "warn", "A limiter seems on.", "Bounce anew."),
    ),
    (Finding("click", 41.2, 41.2, measured=True, strength=14.0, unit="dB"),),
    Fades(0.1, 0.01, 178.0, 2.5),
    ("The music starts at 0.10 s.",),
)
SHELF = Candidate(
    "low_shelf_110", "balance", "taste", "low_shelf", -1.0, "dB", {"corner_hz": 110.0, "gain_db": -1.0}, reason="Heavy."
)
PASS_HIGH = Candidate(
    "high_pass_20",
    "balance",
    "hygiene",
    "high_pass",
    20.0,
    "Hz",
    {"cutoff_hz": 20.0, "slope_per_octave_db": 12.0},
    verdict="no_harm",
)


def make_sounds(count: int, places: int) -> tuple[Any, ...]:
    """Make versions of noise."""
    rng = np.random.default_rng(2)
    return tuple(rng.normal(0, 0.05, (count, 480, 2)).astype(np.float32) for _ in range(places))


def hear(count: int = 2, places: int = 2, **changes: Any) -> VersionsHeard:
    """Give versions that can be heard."""
    heard = VersionsHeard(
        make_sounds(count, places),
        48000,
        tuple((10.0 * place, 10.0 * place + 8) for place in range(places)),
        tuple(f"place {place}" for place in range(places)),
        tuple(f"hash {number}" for number in range(count)),
        -20.0,
        0.001,
        ((0.5,) * 200,) * places,
        {"low_band_db": -0.9},
    )
    return replace(heard, **changes)


def open_mix(world: World, *results: object) -> Program:
    """Open a mix whose works bring these results."""
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    worker.results += [OPENED, *results]
    program = Program(world)
    program.act(intents.GoTo("mixes"))
    program.act(intents.DropFile(MIX.path))
    program.tick()
    return program


@pytest.fixture
def world(drills: dict[str, Drill]) -> World:
    """Give a world of stand-ins."""
    return make_world({"limiting": drills["limiting"]})


def read(program: Program) -> str:
    """Give all words of the page."""
    view = program.view()
    assert isinstance(view, PageView)
    return f"{view.headline} {view.sentence} {view.columns} {view.dock} {view.frame.notice}"


def get_sheet(world: World) -> Sheet:
    """Give the sheet as it was written last."""
    projects = world.projects
    assert isinstance(projects, MemoryProjects)
    return projects.sheets["crane 4"]


def answer_all(program: Program, choose: Callable[[Round], str]) -> None:
    """Answer a round to its end."""
    while program.state.blind is not None:
        program.act(intents.GiveAnswer(choose(program.state.blind.held)))


def prefer(version: int) -> Callable[[Round], str]:
    """Prefer one version wherever it is."""
    return lambda held: str(held.asked[len(held.answers)].sounds.index(version) + 1)


def test_impressions_come_before_any_measurement(world: World) -> None:
    """What was measured is not on the page until they are noted, or asked for."""
    program = open_mix(world)
    assert "A limiter seems on" not in read(program)
    for line in ("muddy start", "the voice is close", "ends too soon"):
        program.act(intents.TypeText(line))
        program.act(intents.GoOn())
    assert "A limiter seems on" in read(program)
    assert get_sheet(world).aim.impressions == ("muddy start", "the voice is close", "ends too soon")
    for line in ("the voice", "restless", "headphones, car", "Number Four Crane", "mix 4", "no code"):
        program.act(intents.GiveAnswer(line))
    assert "isrc=no code, expected twelve characters" in program.state.message
    program.act(intents.GiveAnswer("QZ-ABC-26-00001"))
    program.act(intents.Do("finish"))
    assert "targets=none, expected at least one" in program.state.message
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("finish"))
    sheet = get_sheet(world)
    assert sheet.aim.isrc == "QZABC2600001" and sheet.aim.systems == ("headphones", "car")
    assert sheet.finished == ("aim",) and program.state.mix.step == "listen_through"


def test_a_pass_is_heard_first_and_then_set_beside_the_meter(world: World) -> None:
    """A mark 0.7 s after a measured click is that click; another one stands by itself; decisions are kept."""
    song = SongHeard(np.zeros((1, 48000 * 60, 2), np.float32), 48000, (0.1,) * 200, 0.0, -20.0)
    program = open_mix(world, song, song)
    program.act(intents.Do("step", "listen_through"))
    assert "A click" not in read(program)
    program.act(intents.Do("pass"))
    program.tick()
    player = world.player
    assert isinstance(player, FakePlayer)
    for at_s, kind in ((12.5, "harsh_s"), (41.9, "anything")):
        player.frame = round(at_s * 48000)
        program.tick()
        program.act(intents.MarkNow(kind))
    program.act(intents.Do("step", "balance"))
    assert program.state.mix.page == "pass", "nothing but the pass can be gone to"
    player.frame = 100
    program.tick()
    findings = get_sheet(world).findings
    assert [(each.kind, each.heard, each.measured) for each in findings] == [
        ("harsh_s", True, False),
        ("click", True, True),
    ]
    program.act(intents.Do("finding", "1"))
    program.tick()
    program.act(intents.Do("decide", "mix"))
    assert get_sheet(world).findings[1].decision == "mix" and program.state.mix.page == "step"
    program.act(intents.Do("fades", "take"))
    assert get_sheet(world).fades.fade_out_s == 2.5


def test_a_move_is_weighed_blind_and_the_person_decides(world: World) -> None:
    """Compared, proposed, picked 12 of 12 with it; kept; the sheet holds the round and what was measured."""
    compared = SongsCompared(
        (BandMarks("20–60 Hz", 2.5, (0.0, 1.0)),), ("h1", "h2"), ("/m/one.wav", "/m/two.wav"), (SHELF,), ("Resonance.",)
    )
    program = open_mix(world, compared, hear())
    program.act(intents.Do("step", "balance"))
    for name in ("/m/one.wav", "/m/two.wav"):
        program.act(intents.DropFile(name))
    program.act(intents.DropFile("/m/two.wav"))
    assert "each song once" in program.state.message
    program.act(intents.Do("compare"))
    program.tick()
    assert "Low shelf, 110 Hz, −1.0 dB" in read(program) and "Resonance." in read(program)
    program.act(intents.Do("candidate", "low_shelf_110"))
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    job = worker.jobs[-1]
    assert isinstance(job, HearMoves) and job.without == () and job.with_them[0].candidate == "low_shelf_110"
    program.tick()
    program.act(intents.GoOn())
    answer_all(program, prefer(1))
    shown = read(program)
    assert "names=('with it', 'without it'), counts=(12.0, 0.0)" in shown and "Preferred with it." in shown
    program.act(intents.Do("keep"))
    kept = get_sheet(world).list_kept()
    assert [each.candidate for each in kept] == ["low_shelf_110"]
    assert kept[0].rounds[0].complete and kept[0].verdict == "keep" and kept[0].results == {"low_band_db": -0.9}
    # Twelve picks at 12 s.
    assert "Blind listening today: about 2 of 35 minutes." in read(program)
    program.act(intents.Do("step", "listen_through"))
    assert "Blind listening" not in read(program)


def test_a_move_that_is_proposed_is_the_way_on_until_it_was_heard(world: World) -> None:
    """By construction: Enter weighs it; after a round, or a decision, it leads to the next step."""
    program = open_compared(world)
    main = find_main(program.view())
    assert main is not None and main.label == "Weigh the low shelf"
    program.act(main.intent)
    program.tick()
    program.act(intents.Do("leave"))
    main = find_main(program.view())
    assert main is not None and main.label == "Next: sweetening"


def test_who_hears_nothing_is_told_so_and_leaves_it(world: World) -> None:
    """Three to three, then five of sixteen wrong: below the hearing; leaving it out is the accent."""
    program = open_compared(world)
    program.act(intents.Do("candidate", "low_shelf_110"))
    program.tick()
    program.act(intents.GoOn())
    answer_all(program, lambda held: "1")
    assert "Not settled." in read(program)
    program.act(intents.GoOn())
    answer_all(program, lambda held: "2" if held.asked[len(held.answers)].right_answer == "1" else "1")
    shown = read(program)
    assert "below your hearing" in shown and "Tell them apart" not in shown
    assert "Button(label='Leave it out', intent=Do(what='leave', value=''), main=True" in shown


def open_compared(world: World) -> Program:
    """Come to the balance beside one song, with a low shelf proposed and ready to be heard."""
    program = open_mix(world, replace_candidates(SHELF), hear())
    program.act(intents.Do("step", "balance"))
    program.act(intents.DropFile("/m/one.wav"))
    program.act(intents.Do("compare"))
    program.tick()
    return program


def replace_candidates(*candidates: Candidate) -> SongsCompared:
    """Give a comparison that proposes these."""
    return SongsCompared((BandMarks("20–60 Hz", 2.5, (0.0,)),), ("h1",), ("/m/one.wav",), candidates)


def test_hygiene_is_only_asked_whether_it_can_be_told(world: World) -> None:
    """Measured as harmless; told apart 12 of 12, it does harm."""
    program = open_mix(world, Proposed("balance", (PASS_HIGH,)), hear())
    program.act(intents.Do("step", "balance"))
    program.act(intents.Do("bottom"))
    program.tick()
    program.act(intents.Do("candidate", "high_pass_20"))
    program.tick()
    assert "Does no harm, as measured; not yet heard." in read(program)
    program.act(intents.GoOn())
    assert program.state.blind is not None and program.state.blind.held.kind == "apart"
    answer_all(program, lambda held: held.asked[len(held.answers)].right_answer)
    assert get_sheet(world).candidates[0].verdict == "harm"


def test_rungs_are_chosen_blind_and_cost_is_shown_after(world: World) -> None:
    """All pairs of four with hidden repeats, twelve picks between the two that lead; then the costs."""
    asked = (-16.0, -14.0, -12.5, -11.0)
    rungs = tuple(Rung(lufs, lufs, 3.0 + n, {"reduction_on_hits_db": 2.0 + n}) for n, lufs in enumerate(asked))
    tried = hear(4, 2, loudness=Loudness(rungs, settings={"ceiling_dbtp": -1.0}), kind="rungs")
    program = open_mix(world, tried)
    program.act(intents.Do("step", "aim"))
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("step", "loudness"))
    program.act(intents.Do("try", "around"))
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    job = worker.jobs[-1]
    assert isinstance(job, TryRungs) and job.asked_lufs == asked and job.ceiling_dbtp == -1.0
    program.tick()
    assert "reduction on the loudest hits" not in read(program)
    program.act(intents.GoOn())
    assert program.state.blind is not None and len(program.state.blind.held.asked) == 11

    def choose(held: Round) -> str:
        """Like the second rung best."""
        left, right = held.asked[len(held.answers)].sounds
        return "1" if abs(left - 1) <= abs(right - 1) else "2"

    answer_all(program, choose)
    assert "reduction on the loudest hits" in read(program)
    program.act(intents.GoOn())
    answer_all(program, choose)
    loudness = get_sheet(world).loudness
    assert loudness.chosen == 1 and loudness.verdict == "keep" and len(loudness.rounds) == 2


def test_the_whole_is_asked_on_three_places_and_a_file_is_made(world: World) -> None:
    """Four picks each on verse, chorus and ending; then the bounce, what its check says, and a last listen."""
    bounced = Bounced("/music/crane 4 master.wav", "cd" * 32, 48000, 24, -14.0, -1.1, "pass")
    song = SongHeard(np.zeros((1, 48000 * 20, 2), np.float32), 48000, (0.1,) * 200, 0.0, -20.0)
    checked = Delivered((BounceChecked(bounced, ("Within 0.1 dB of the sheet.",)),), made=True)
    program = open_mix(world, hear(2, 3), checked, song)
    kept = replace(SHELF, decision="keep")
    program.act(intents.Do("step", "delivery"))
    program.state = replace(program.state, mix=replace(program.state.mix, sheet=get_sheet(world).with_candidate(kept)))
    program.act(intents.Do("whole", "whole"))
    program.tick()
    assert program.state.blind is not None
    assert [asked.stretch for asked in program.state.blind.held.asked] == [0] * 4 + [1] * 4 + [2] * 4
    answer_all(program, prefer(1))
    assert "names=('all moves together', 'the untouched mix'), counts=(12.0, 0.0)" in read(program)
    program.act(intents.Do("depth", "16"))
    program.act(intents.GoOn())
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    job = worker.jobs[-1]
    assert isinstance(job, MakeBounce) and job.out == "/music/crane 4 master.wav" and job.sheet.delivery.bit_depth == 16
    program.tick()
    assert "Within 0.1 dB of the sheet." in read(program)
    assert get_sheet(world).delivery.bounced == (bounced,)
    program.act(intents.Do("last"))
    program.tick()
    program.act(intents.MarkNow("click"))
    program.act(intents.GoBack())
    assert "On the last listen you marked a click" in read(program) and not get_sheet(world).findings[0].heard
    program.act(intents.TypeText("/music/other.wav"))
    program.act(intents.Do("check"))
    assert isinstance(worker.jobs[-1], CheckFile)


def test_a_mix_that_has_changed_carries_its_sheet_over(world: World) -> None:
    """Evidence stays, marked; findings and rungs are asked for again; another sound under another name is new."""
    program = open_mix(world)
    program.act(intents.Do("target", "streaming"))
    program.act(intents.Do("finish"))
    other = replace(OPENED, mix=replace(MIX, sha256="ef" * 32))
    again = Program(world)
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    worker.results.append(other)
    again.act(intents.GoTo("mixes"))
    again.act(intents.Do("project", "crane 4"))
    again.tick()
    assert "The mix has changed" in read(again)
    again.act(intents.GoOn())
    sheet = get_sheet(world)
    assert sheet.carried_from == MIX.sha256 and sheet.mix.sha256 == "ef" * 32 and sheet.finished == ("aim",)


def test_sweetening_offers_what_makes_sense_and_says_why_not(world: World) -> None:
    """Candidates and refusals; a proposal knows what is kept so far."""
    candidate = replace(SHELF, candidate="width_1", step="sweetening", move="width", settings={"side_gain_db": 1.0})
    program = open_mix(world, Proposed("sweetening", (candidate,), ("No multiband: no band moves by itself.",)))
    program.act(intents.Do("step", "sweetening"))
    program.act(intents.Do("find"))
    worker = world.worker
    assert isinstance(worker, FakeWorker)
    assert worker.jobs[-1] == Propose(MIX.path, "sweetening", ())
    program.tick()
    shown = read(program)
    assert "Width, +1.0 dB" in shown and "No multiband" in shown and "no loss" in shown


def test_work_that_fails_or_is_cancelled_loses_nothing(world: World) -> None:
    """One line; the step stays."""
    program = open_mix(world)
    worker, clock = world.worker, world.clock
    assert isinstance(worker, FakeWorker) and isinstance(clock, FakeClock)
    program.act(intents.Do("step", "sweetening"))
    worker.failure = "sweetening: duration_s=3, expected 8 s or more"
    program.act(intents.Do("find"))
    program.tick()
    assert program.state.message == worker.failure and program.state.mix.step == "sweetening"
    worker.failure, worker.held_back = "", True
    program.act(intents.Do("find"))
    program.tick()
    assert "Reading" in read(program)
    program.act(intents.GoBack())
    assert worker.cancelled and program.state.mix.page == "step"


def test_what_a_sheet_has_not_settled_is_practised(drills: dict[str, Drill]) -> None:
    """The plan of the day puts the move's skill in depth, and says what for; a delivered song asks for nothing."""
    undecided = replace(SHELF, verdict="not_settled")
    sheet = Sheet("crane 4", MIX, "2031-05-07", candidates=(undecided,))
    world = make_world(drills, projects=MemoryProjects({"crane 4": sheet}))
    first = plan_day(world).lines[0]
    assert first.standing.drill.move == "low_shelf" and first.reason == "sheet" and first.words == "for crane 4"
    done = make_world(drills, projects=MemoryProjects({"crane 4": replace(sheet, finished=("delivery",))}))
    assert plan_day(done).lines[0].reason != "sheet"
