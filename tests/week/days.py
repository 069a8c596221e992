"""Day after day through the program: the plan is opened, run from top to bottom, and written down as it is worded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone

import numpy as np

from tests.fakes import FakeClock, MemoryStore, make_world
from tests.week.person import Person, answer
from tests.week.workshop import SoundlessWorkshop
from trainer.exercise.drill import Drill
from trainer.exercise.history import StoredTrial
from trainer.exercise.pace import SHOWN_SECONDS, find_seconds
from trainer.exercise.plan import DayPlan
from trainer.exercise.song import AudioClass
from trainer.session import intents
from trainer.session.day import plan_day
from trainer.session.screens import Program
from trainer.session.view import DemonstrationView, EndView, MessageView, RevealView, TodayView, TrialView
from trainer.session.words import describe_estimate
from trainer.session.world import World

BEGIN = datetime(2031, 5, 5, 20, 0, tzinfo=timezone.utc)
MOST_RUNS, MOST_STEPS = 12, 4000


@dataclass
class Day:
    """What happened on a day: its plan as first shown, and the words of the whole day."""

    number: int
    plan: DayPlan
    words: list[str]
    trials: list[StoredTrial] = field(default_factory=list)


def make_person_world(person: Person, drills: Mapping[str, Drill]) -> World:
    """Put the world of a person together."""
    seeds = iter(range(1, 10_000))
    own: AudioClass = "own" if person.own_mix else "demo"
    return make_world(
        dict(drills),
        clock=FakeClock(BEGIN),
        workshop=SoundlessWorkshop(own),
        setup=person.setup,
        audio_class=own,
        song_title="Harbour, mix 4" if person.own_mix else "",
        choose_seed=lambda: next(seeds),
    )


def live(person: Person, drills: Mapping[str, Drill], seed: int = 1) -> list[Day]:
    """Let a person practise as the plan says, on each of their days."""
    world, rng = make_person_world(person, drills), np.random.default_rng(seed)
    return [live_day(world, person, number, rng) for number in person.practises]


def live_day(world: World, person: Person, number: int, rng: np.random.Generator) -> Day:
    """Let a person do all of a day's plan."""
    clock, store = world.clock, world.store
    assert isinstance(clock, FakeClock) and isinstance(store, MemoryStore)
    clock.time = BEGIN + timedelta(days=number)
    program, before = Program(world), len(store.trials)
    day = Day(number, plan_day(world), [f"{clock.time:%A %d %B}, day {number + 1}"])
    day.words += [f"  now: {text}" for text in _describe_ranges(world)]
    _write_today(program, day)
    for _ in range(MOST_RUNS):
        if not plan_day(world).left:
            break
        _run_next(program, world, person, number, rng, day)
    day.trials = store.trials[before:]
    _write_today(program, day)
    return day


def _run_next(program: Program, world: World, person: Person, number: int, rng: np.random.Generator, day: Day) -> None:
    """Press Enter on the first screen, and answer until it is there again."""
    program.act(intents.GoOn())
    for _ in range(MOST_STEPS):
        program.tick()
        shown, run = program.view(), program.state.run
        if isinstance(shown, TodayView):
            return
        assert not isinstance(shown, MessageView), f"a dead end: {shown.headline} {shown.frame.notice}"
        if isinstance(shown, TrialView):
            assert run is not None and run.trial is not None
            text = answer(person, run.trial, number, rng)
            world.clock.pass_time(find_seconds(run.drill.form) - SHOWN_SECONDS)  # type: ignore[attr-defined]
            program.act(intents.GiveAnswer(text))
            assert not program.state.message, program.state.message
            world.clock.pass_time(SHOWN_SECONDS)  # type: ignore[attr-defined]
            continue
        if isinstance(shown, EndView):
            assert run is not None
            said = " ".join(shown.sentences)
            day.words.append(f"  run of {len(run.outcomes)}, {run.drill.title}: {shown.headline} {said}")
        assert isinstance(shown, (DemonstrationView, RevealView, EndView))
        program.act(intents.GoOn())
    raise AssertionError("a run without end")


def _write_today(program: Program, day: Day) -> None:
    """Write the first screen down."""
    shown = program.view()
    assert isinstance(shown, TodayView)
    day.words.append(f"  > {shown.headline} {shown.sentence}")
    if any(item.note != "practised today" for item in shown.items):
        for item in shown.items:
            notes = " | ".join(part for part in (item.amount, item.note) if part)
            day.words.append(f"    {item.number} {item.title}: {item.detail} | {notes}")


def _describe_ranges(world: World) -> list[str]:
    """Say where the ear stands in all that was practised on the last day before."""
    standings = [each for each in world.list_standings() if each.last_day is not None]
    last = max((each.last_day or 0 for each in standings), default=0)
    skills = {each.drill.skill: each for each in reversed(standings) if each.last_day == last}
    return [
        f"{each.drill.title}: {describe_estimate(each.track.estimate(), each.drill.amount.unit)}"
        for each in reversed(list(skills.values()))
    ]
