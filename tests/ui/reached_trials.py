"""The views of a run that a person can come to, with every form of question, and of what stands around a run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from tests.fakes import FakeWorkshop, MemoryStore, make_trial, make_world
from trainer.dsp.move import Effect, Picture
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.forms.form import Turn
from trainer.exercise.trial import Excerpt, PreparedTrial, TrialSpec, Version
from trainer.ports import Output
from trainer.session import intents
from trainer.session.intents import GiveAnswer, GoBack, GoOn, StartDrill
from trainer.session.pages import View
from trainer.session.screens import Program
from trainer.session.view import RevealView, TrialView
from trainer.session.world import World

RATE_HZ = 48000
SILENT = Output("silent", "no output", RATE_HZ, 0.0)
Reached = Iterator[tuple[str, View]]


class LaidOut(FakeWorkshop):
    """Lays every form out as it is, and describes versions that were never made."""

    def collect(self) -> PreparedTrial | None:
        if self._open is None or self.held_back or self.failure:
            return super().collect()
        spec, self._open = self._open, None
        return make_trial(spec, 2) if spec.demonstration else _lay_out(spec)


def _lay_out(spec: TrialSpec) -> PreparedTrial:
    """Make a trial of any form without sound."""
    drill = spec.drill
    layout = FORMS[drill.form].lay_out(drill, spec.amount, np.random.default_rng(4), Turn(spec.seed, spec.index))
    kinds: Mapping[str, Any] = {"limiter": "reduction", "compressor": "reduction", "click": "level", "dropout": "level"}
    picture = Picture(
        kinds.get(drill.move, "response"),
        tuple((n / 15 if drill.move in kinds else 20.0 * 1.06**n, 0.5 + 0.01 * n) for n in range(119)),
        () if drill.move in kinds else ((20.0, 0.4), (20000.0, 1.6)),
    )
    measured = {"gain_db": spec.amount, "reduction_on_hits_db": 3.0, "high_band_db": 1.1, "low_band_db": -0.2}
    effect = Effect(spec.amount, measured, picture, ("Above 8 kHz it is 1.1 dB higher than the rest of the song.",))
    if drill.form == "mark_the_moment":
        layout = replace(layout, right_answer="8 | 3.2 click")
    if drill.form == "set_release":
        layout = replace(layout, right_answer="80 200", target=3)
    versions = tuple(
        Version(
            n, take, {"gain_db": take.amount, "corner_hz": 8000.0} if take.processed else {},
            effect if take.processed or n == layout.target + 1 else None, -0.8, -18.4, -3.2, drill.amount.unit,
        )
        for n, take in enumerate(layout.takes, 1)
    )  # fmt: skip
    plain = make_trial(replace(spec, demonstration=True), 2)
    sounds = np.zeros((len(versions) + 1, 480, 2), np.float32)
    excerpt = Excerpt(41.0, 49.0, "Slow Tide at Nine, chorus 1, four bars")
    return replace(plain, spec=spec, sounds=sounds, versions=versions, layout=layout, excerpt=excerpt)


def reach_runs(drills: dict[str, Drill]) -> Reached:
    """Show a drill of each form: example, question, answer, receipt, end."""
    chosen: dict[str, Drill] = {}
    for drill in drills.values():
        chosen.setdefault(drill.form, drill)
    for form, drill in chosen.items():
        world = make_world(drills, workshop=LaidOut(), trials=2)
        program = _start(world, drill.drill)
        shown = program.view()
        if not isinstance(shown, TrialView):
            yield f"{form}-example", shown
            _go_on(program)
        yield f"{form}-question", program.view()
        _answer(program)
        if isinstance(program.view(), TrialView):
            _answer(program)
        yield f"{form}-reveal", program.view()
        program.act(intents.ToggleReceipt())
        yield f"{form}-receipt", program.view()
        program.act(intents.ToggleReceipt())
        _finish(program)
        yield f"{form}-end", program.view()


def reach_edges(drills: dict[str, Drill]) -> Reached:
    """Show what stands around a run: cautions, waiting, leaving, a problem, the keys, no sound, an order begun."""
    yield "cautions", Program(make_world(drills, store=MemoryStore())).view()
    yield "today-new", Program(make_world(drills)).view()
    slow = make_world(drills, workshop=LaidOut(held_back=True))
    program = _start(slow, "high_shelf_8k")
    yield "preparing", program.view()
    half = _start(make_world(drills, workshop=LaidOut(), trials=2), "high_shelf_8k")
    _answer(half)
    half.act(GoBack())
    yield "leaving-run", half.view()
    failing = _start(make_world(drills, workshop=LaidOut(failure="songs: count=0, expected at least one")), "limiting")
    yield "problem", failing.view()
    silent = make_world(drills, workshop=LaidOut())
    silent.player.output = SILENT  # type: ignore[misc]
    quiet = _start(silent, "high_shelf_8k")
    _go_on(quiet)
    yield "question-silent", quiet.view()
    quiet.act(intents.ToggleKeys())
    yield "question-keys", quiet.view()
    away = Program(make_world(drills))
    away.act(GoBack())
    yield "leaving", away.view()
    order = _start(make_world(drills, workshop=LaidOut(), trials=2), "limiting_ladder")
    _go_on(order)
    order.act(intents.PutNext(2))
    yield "order-begun", order.view()


def _start(world: World, drill: str) -> Program:
    """Begin a drill."""
    program = Program(world)
    program.act(StartDrill(drill))
    program.tick()
    return program


def _go_on(program: Program) -> None:
    program.act(GoOn())
    program.tick()


def _answer(program: Program) -> None:
    """Answer a question in a way that its form takes."""
    run = program.state.run
    assert run is not None and run.trial is not None
    layout = run.trial.layout
    if layout.control:
        program.act(intents.AnswerPlaying())
    elif run.drill.form == "mark_the_moment":
        program.act(GiveAnswer(layout.right_answer.split(" | ")[-1]))
    else:
        program.act(GiveAnswer(layout.right_answer or layout.answers[0]))
    program.tick()
    assert not program.state.message, (run.drill.drill, program.state.message)


def _finish(program: Program) -> None:
    """Go on to the end of the run."""
    for _ in range(6):
        if isinstance(program.view(), TrialView):
            _answer(program)
        elif isinstance(program.view(), RevealView):
            _go_on(program)
