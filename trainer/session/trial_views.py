"""Labelled example and question, worded. Nothing here depends on which version is processed."""

from __future__ import annotations

from trainer.exercise.trial import PreparedTrial
from trainer.session import intents, keys, words
from trainer.session.frame import make_frame
from trainer.session.run import Run
from trainer.session.state import State
from trainer.session.view import Button, DemonstrationView, Progress, Sounding, TrialView, Waveform
from trainer.session.world import World
from trainer.units import write_time


def view_demonstration(state: State, run: Run, trial: PreparedTrial, world: World) -> DemonstrationView:
    """Word a labelled example."""
    amount = words.describe_processed(run.drill, trial.spec.amount)
    labels = ("as it is", amount)
    return DemonstrationView(
        frame=make_frame(state, world, run.drill.title, "a labelled example first", keys.list_demonstration_keys()),
        marks=mark_progress(run),
        headline="Hear it large, and named.",
        sentence=f"{run.drill.teaching.does} {run.drill.teaching.listen}",
        versions=tuple(
            Button(label, intents.Listen(number), selected=state.version == number)
            for number, label in enumerate(labels, 1)
        ),
        balance=words.describe_balance(trial),
        waveform=draw_waveform(trial),
        sounding=tell_sounding(state, trial, world),
        go_on=Button("Begin", intents.GoOn(), main=True),
    )


def view_question(state: State, run: Run, trial: PreparedTrial, world: World) -> TrialView:
    """Word a question."""
    count = len(trial.versions)
    return TrialView(
        frame=make_frame(
            state,
            world,
            run.drill.title,
            run.drill.subtitle,
            keys.list_question_keys(count),
            footer=words.describe_remaining(run),
        ),
        marks=mark_progress(run),
        versions=tuple(
            Button(str(number), intents.Listen(number), selected=state.version == number)
            for number in range(1, count + 1)
        ),
        balance=words.describe_balance(trial),
        waveform=draw_waveform(trial),
        sounding=tell_sounding(state, trial, world),
        question=run.drill.question,
        answers=tuple(Button(f"It is {answer}", intents.GiveAnswer(answer)) for answer in trial.answers),
    )


def mark_progress(run: Run) -> tuple[Progress, ...]:
    """Mark what was right and wrong, where the run is, and what lies ahead."""
    done: list[Progress] = ["right" if outcome.correct else "wrong" for outcome in run.outcomes]
    here: list[Progress] = ["current"] if run.phase == "question" else []
    ahead: list[Progress] = ["ahead"] * max(0, run.planned - len(done) - len(here))
    return (*done, *here, *ahead)


def draw_waveform(trial: PreparedTrial) -> Waveform:
    """Outline the unprocessed loop, with its place."""
    excerpt = trial.excerpt
    return Waveform(trial.outline, write_time(excerpt.start_s), write_time(excerpt.end_s), excerpt.caption)


def tell_sounding(state: State, trial: PreparedTrial, world: World) -> Sounding:
    """Tell what is heard."""
    head = world.player.position()
    frames = trial.sounds.shape[1]
    return Sounding(state.version, (head.frame % frames) / frames, head.playing)
