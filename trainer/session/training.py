"""A run of a drill in the session: begun, answered, gone on from, and let go."""

from __future__ import annotations

from dataclasses import replace

from trainer.errors import BadValue, EvenhandError
from trainer.exercise.history import find_mark_delay
from trainer.exercise.trial import PreparedTrial
from trainer.session import intents
from trainer.session.day import plan_day
from trainer.session.intents import Intent
from trainer.session.run import (
    answer_trial,
    begin_run,
    end_early,
    go_on,
    leave_demonstration,
    misses_largest,
    open_trial,
    shows_answer,
    specify_next,
    takes_marks,
)
from trainer.session.state import DIFFERENCE, State
from trainer.session.world import World

# Gaps while versions are loaded and faded in are not heard.
SETTLE_S = 0.5
LISTENING = (
    intents.Listen,
    intents.ListenOther,
    intents.MoveControl,
    intents.OnlyWhatChanged,
    intents.ToggleSound,
)


def start_named(state: State, world: World) -> State:
    """Begin the drill that was named at the start, in its full length; without one, stay."""
    if not state.named:
        return state
    return start_drill(replace(state, named=""), state.named, world, world.drills[state.named].trials)


def start_drill(state: State, name: str, world: World, full: int | None = None) -> State:
    """Begin a run of a drill, as long as it was asked for, else as long as the plan says.

    Raises
    ------
    BadValue
        If there is no such drill.
    """
    if name not in world.drills:
        raise BadValue("drill", "name", name, f"one of {', '.join(world.drills)}")
    check = world.find_lesson_first(name)
    following = state.following
    if check:
        following, name, full = name, check, world.drills[check].trials
    planned = full or plan_day(world).find_trials(name) or world.drills[name].trials
    run = begin_run(world.find_standing(name), world.choose_seed(), world.trials or planned, world.trials is None)
    if takes_marks(run):
        run = replace(run, delay_s=find_mark_delay(world.store.list_trials(), run.setup))
    state = replace(state, screen="run", run=run, made=None, chosen="", following=following, receipt_open=False)
    return _want_next(state, world)


def tick_run(state: State, world: World) -> State:
    """Take in what happened to a run meanwhile: a trial that is ready, gaps in the sound."""
    run = state.run
    if run is None:
        return state
    gaps = world.player.take_interruptions()
    settled = world.clock.monotonic_s() - state.asked_s > SETTLE_S
    if gaps and settled and run.phase == "question":
        state = replace(state, heard_gaps=state.heard_gaps + gaps)
    if takes_marks(run) and run.phase == "question":
        frame = world.player.position().frame
        if frame < state.heard_frame:
            # Round once: a pass is heard from start to end, and then it is over.
            return _act_on_question(state, intents.AnswerPlaying(), world) or state
        state = replace(state, heard_frame=frame)
    if state.wanted is None or state.made is not None:
        return state
    try:
        made = world.workshop.collect()
    except EvenhandError as error:
        failed = (*state.failed, run.drill.drill)
        line = str(error).splitlines()[0]
        return stop_run(replace(state, screen="problem", message=line, failed=failed), world)
    if made is None:
        return state
    state = replace(state, made=made, wanted=None)
    return _open_made(state, world) if run.phase == "waiting" else state


def _want_next(state: State, world: World) -> State:
    """Ask the workshop for the run's next trial."""
    assert state.run is not None
    spec = specify_next(state.run)
    world.workshop.submit(spec)
    return replace(state, wanted=spec, made=None)


def _open_made(state: State, world: World) -> State:
    """Open the trial that is ready, and ask for the next one while a labelled example is heard."""
    assert state.run is not None and state.made is not None
    trial = state.made
    world.player.load(trial.sounds, trial.rate_hz)
    world.player.play()
    world.player.take_interruptions()
    run = open_trial(state.run, trial, world.clock.now())
    state = replace(
        state,
        run=run,
        made=None,
        version=1,
        control=trial.layout.begins_at,
        order=(),
        marks=(),
        heard_frame=0,
        asked_s=world.clock.monotonic_s(),
        heard_gaps=0,
        receipt_open=False,
    )
    if run.phase == "demonstration":
        spec = specify_next(leave_demonstration(run))
        world.workshop.submit(spec)
        state = replace(state, wanted=spec)
    return state


def act_on_run(state: State, intent: Intent, world: World) -> State | None:
    """Act within a run, by its phase."""
    run = state.run
    assert run is not None
    if isinstance(intent, (intents.GoBack, intents.Quit)):
        return _leave(state, intent, world)
    if run.phase == "finished":
        return _act_at_end(state, intent, world)
    if run.trial is None:
        return None
    if takes_marks(run) and run.phase == "question":
        return _act_on_question(state, intent, world)
    if isinstance(intent, LISTENING):
        return _listen(state, intent, run.trial, world)
    if run.phase == "question":
        return _act_on_question(state, intent, world)
    if isinstance(intent, intents.ToggleReceipt) and run.phase == "reveal":
        return replace(state, receipt_open=not state.receipt_open)
    if isinstance(intent, intents.GoOn):
        return _go_on(state, world)
    if intent == intents.Do("end") and run.phase == "reveal" and misses_largest(run):
        world.player.pause()
        return replace(state, run=end_early(run), wanted=None, made=None, receipt_open=False)
    return None


def _leave(state: State, intent: Intent, world: World) -> State:
    """Leave a run at once where nothing is lost by it, else ask."""
    assert state.run is not None
    if isinstance(intent, intents.Quit):
        return replace(stop_run(state, world), finished=True)
    if state.receipt_open:
        return replace(state, receipt_open=False)
    if state.run.phase == "finished" or not state.run.outcomes:
        return stop_run(replace(state, screen=state.home), world)
    world.player.pause()
    return replace(state, screen="leaving")


def _act_at_end(state: State, intent: Intent, world: World) -> State | None:
    assert state.run is not None
    if isinstance(intent, intents.GoOn):
        return stop_run(replace(state, screen=state.home), world)
    if isinstance(intent, intents.StartDrill):
        return start_drill(replace(state, run=None), intent.drill, world)
    return None


def _listen(state: State, intent: Intent, trial: PreparedTrial, world: World) -> State | None:
    """Switch what is heard; the difference only after the answer."""
    if isinstance(intent, intents.ToggleSound):
        if world.player.position().playing:
            world.player.pause()
        else:
            world.player.play()
        return state
    revealed = state.run is not None and state.run.phase == "reveal"
    count, control = trial.layout.numbered_after if revealed else trial.numbered, state.control
    if isinstance(intent, intents.OnlyWhatChanged):
        if not revealed:
            return None
        version = DIFFERENCE
    elif isinstance(intent, intents.MoveControl):
        if not trial.layout.control:
            return None
        version = count
        control = min(max(control + intent.step, 0), len(trial.layout.control) - 1)
    elif isinstance(intent, intents.ListenOther):
        version = (max(state.version, 1) - 1 + intent.step) % count + 1
    elif isinstance(intent, intents.Listen) and 1 <= intent.version <= count:
        version = intent.version
    else:
        return None
    world.player.select(len(trial.versions) if version == DIFFERENCE else trial.layout.find_sound(version, control))
    world.player.play()
    return replace(state, version=version, control=control)


def _act_on_question(state: State, intent: Intent, world: World) -> State | None:
    """Take an answer: keep it, then show what was so, and have the next trial made."""
    run = state.run
    assert run is not None
    assert run.trial is not None
    state, text = _compose_answer(state, intent, run.trial)
    if text is None:
        return state
    response_s = world.clock.monotonic_s() - state.asked_s
    gaps = state.heard_gaps + (world.player.take_interruptions() if response_s > SETTLE_S else 0)
    unheard = gaps > 0 or world.lost_sound(run.setup)
    answered, stored = answer_trial(run, text, response_s, world.clock.now(), unheard)
    world.store.keep(stored)
    if not shows_answer(answered):
        return _want_next(replace(state, run=go_on(answered)), world)
    state = replace(state, run=answered)
    return state if answered.complete else _want_next(state, world)


def _compose_answer(state: State, intent: Intent, trial: PreparedTrial) -> tuple[State, str | None]:
    """Make an answer of an intent, as soon as it is complete."""
    layout = trial.layout
    if isinstance(intent, intents.MarkNow):
        delay_s = state.run.delay_s if state.run is not None else 0.0
        at_s = max(0.0, state.heard_frame / trial.rate_hz - delay_s)
        return replace(state, marks=(*state.marks, (at_s, intent.kind))), None
    if state.run is not None and takes_marks(state.run) and isinstance(intent, intents.AnswerPlaying):
        return state, "; ".join(f"{at_s:.2f} {kind}" for at_s, kind in state.marks) or "none"
    if isinstance(intent, intents.GiveAnswer):
        return state, intent.text
    if isinstance(intent, intents.PutNext):
        known = intent.version in state.order or not 0 <= intent.version <= trial.numbered
        order = () if intent.version == 0 else state.order if known else (*state.order, intent.version)
        complete = len(order) == trial.numbered
        return replace(state, order=order), " ".join(str(version) for version in order) if complete else None
    if isinstance(intent, intents.AnswerPlaying):
        if layout.control:
            return state, f"{layout.control[state.control]:g}"
        return state, str(state.version) if str(state.version) in layout.answers else None
    return state, None


def _go_on(state: State, world: World) -> State:
    """Go on from a labelled example or a reveal."""
    run = state.run
    assert run is not None
    following = leave_demonstration(run) if run.phase == "demonstration" else go_on(run)
    state = replace(state, run=following, receipt_open=False)
    if following.phase == "finished":
        world.player.pause()
        wished, state = state.following, replace(state, following="")
        return start_drill(state, wished, world) if wished and world.plays(wished) else state
    if state.made is not None:
        return _open_made(state, world)
    world.player.pause()
    return state


def stop_run(state: State, world: World) -> State:
    """Let the run go; everything answered has been kept."""
    world.player.pause()
    return replace(state, run=None, wanted=None, made=None, following="", receipt_open=False)
