"""The pages within the steps of a mix: both ends, songs beside each other, a release, files for several targets."""

from __future__ import annotations

from dataclasses import replace

from tests.fakes import make_world
from tests.session import (
    test_balance_step,
    test_compressor_setting,
    test_delivery_step,
    test_listening_step,
    test_mixes,
    test_whole,
)
from tests.ui.reached_trials import Reached
from trainer.decisions.mix_jobs import MakeBounce, PlacesTaken
from trainer.decisions.sheet import Fades
from trainer.exercise.drill import Drill
from trainer.session.intents import Do, DropFile, GiveAnswer, ToggleMonitoring


def reach_steps(drills: dict[str, Drill]) -> Reached:
    """Show what opens from the steps of a mix."""
    few = {"limiting": drills["limiting"]}
    yield from _reach_ends(few)
    world = make_world(few)
    program = test_balance_step.go_beside(world, test_balance_step.make_heard(), note="One song says little.")
    program.act(Do("beside"))
    program.tick()
    yield "mix-beside", program.view()
    program.act(Do("part", "low_mids"))
    program.act(ToggleMonitoring("sides"))
    yield "mix-beside-part", program.view()
    program = test_balance_step.go_beside(make_world(few), test_balance_step.make_heard(11))
    program.act(Do("beside"))
    program.tick()
    yield "mix-beside-many", program.view()
    program = test_compressor_setting.open_candidate(make_world(few))
    yield "mix-compressor", program.view()
    program = test_compressor_setting.open_settings(make_world(few))
    yield "mix-release", program.view()
    yield from _reach_files(few)
    yield from _reach_other_days(few)


def _reach_other_days(few: dict[str, Drill]) -> Reached:
    """Show what waits: the whole where the day's minutes are used up, and a whole that was left undecided."""
    yield "mix-whole-later", test_whole.open_kept(make_world(few), 136).view()
    program = test_whole.open_kept(make_world(few), 0, test_mixes.hear(2, 3))
    program.act(Do("whole", "whole"))
    program.tick()
    test_mixes.answer_all(program, lambda held: "1")
    yield "mix-whole-undecided", program.view()


def _reach_ends(few: dict[str, Drill]) -> Reached:
    """Show head and tail, each heard by itself."""
    hear_edge = test_listening_step.hear_edge
    world = make_world(few)
    program = test_listening_step.open_heard(world)
    yield "mix-listen-ends", program.view()
    test_listening_step.give(world, hear_edge(replace(Fades(), start_s=0.4, fade_in_s=0.05), "head"))
    program.act(Do("edge", "head"))
    program.tick()
    yield "mix-head", program.view()
    program = test_listening_step.open_heard(make_world(few), test_listening_step.make_runs(144, 12.0, 1.0))
    yield "mix-listen-kinds", program.view()
    program = test_listening_step.open_kind(make_world(few))
    yield "mix-kind", program.view()
    world = make_world(few)
    program = test_listening_step.open_heard(world)
    test_listening_step.give(world, hear_edge(replace(Fades(), end_s=178.0, fade_out_s=0.5), "tail"))
    program.act(Do("edge", "tail"))
    program.tick()
    yield "mix-tail", program.view()
    world = make_world(few)
    program = test_listening_step.open_heard(world)
    program.act(GiveAnswer("92 3"))
    test_listening_step.give(world, hear_edge(replace(Fades(), end_s=178.0, fade_out_s=0.5), "tail"))
    program.act(Do("edge", "tail"))
    program.tick()
    program.act(Do("bar"))
    yield "mix-tail-making", program.view()
    fading = program.state.mix.fading
    assert fading is not None
    test_listening_step.give(world, hear_edge(fading.tried, "tail"))
    program.tick()
    yield "mix-tail-bar", program.view()
    program.act(Do("decide", "leave"))
    yield "mix-listen-taken", program.view()


def _reach_files(few: dict[str, Drill]) -> Reached:
    """Show the files of two targets: to be made with a version, already there, made and checked."""

    def begin(*results: object) -> test_delivery_step.Program:
        return test_delivery_step.begin(
            make_world(few, projects=test_delivery_step.ShippedTargets()), *results, targets=("streaming", "cd")
        )

    made = test_delivery_step.DELIVERED
    wish = MakeBounce(test_delivery_step.OPENED.mix, "/music/crane 4 master.wav")  # type: ignore[arg-type]
    program = begin(made)
    program.act(Do("line", "1"))
    program.act(GiveAnswer(test_delivery_step.INSTRUMENTAL))
    program.act(DropFile("/music/crane 4 without the words for the shipping news.wav"))
    yield "mix-delivery-versions", program.view()
    program.act(Do("bounce"))
    program.tick()
    yield "mix-delivery-made", program.view()
    program = begin(PlacesTaken(wish, (test_delivery_step.DISC.bounced.path,)))
    program.act(Do("bounce"))
    program.tick()
    yield "mix-delivery-taken", program.view()
