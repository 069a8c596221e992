"""Labelled example and question, worded. Nothing here depends on which version is processed."""

from __future__ import annotations

from trainer.exercise.forms import FORMS
from trainer.exercise.forms.amounts import list_offers, word_amount
from trainer.exercise.forms.form import Layout
from trainer.exercise.trial import PreparedTrial
from trainer.session import intents, keys, words
from trainer.session.frame import make_frame
from trainer.session.run import Run
from trainer.session.sounding import tell_sounding
from trainer.session.state import State
from trainer.session.view import Button, DemonstrationView, Progress, Sounding, TrialView, Waveform
from trainer.session.world import World
from trainer.units import write_amount, write_time

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
NO_PLACE = "–"


def view_demonstration(state: State, run: Run, trial: PreparedTrial, world: World) -> DemonstrationView:
    """Word a labelled example."""
    labels = trial.layout.labels
    shown = keys.list_demonstration_keys(len(labels))
    return DemonstrationView(
        frame=make_frame(state, world, run.drill.title, "a labelled example first", shown),
        marks=mark_progress(run),
        headline="Hear it large, and named.",
        sentence=f"{run.drill.teaching.does} {run.drill.teaching.listen}",
        versions=tuple(
            Button(label, intents.Listen(number), selected=state.version == number)
            for number, label in enumerate(labels, 1)
        ),
        balance=words.describe_balance(trial),
        waveform=draw_waveform(trial),
        sounding=tell_trial(state, trial, world),
        go_on=Button("Begin", intents.GoOn(), main=True),
    )


def view_question(state: State, run: Run, trial: PreparedTrial, world: World) -> TrialView:
    """Word a question."""
    layout, offered = trial.layout, offer_answers(state, run, trial)
    return TrialView(
        frame=make_frame(
            state,
            world,
            run.drill.title,
            run.drill.subtitle,
            keys.list_question_keys(layout, FORMS[run.drill.form].answer_kind, offered),
            footer=words.describe_remaining(run),
        ),
        marks=mark_progress(run),
        versions=tuple(
            Button(_label_version(state, run, layout, number), intents.Listen(number), False, state.version == number)
            for number in range(1, layout.numbered + 1)
        ),
        balance=words.describe_balance(trial),
        waveform=draw_waveform(trial),
        sounding=tell_trial(state, trial, world),
        question=run.drill.question,
        answers=offered,
    )


def offer_answers(state: State, run: Run, trial: PreparedTrial) -> tuple[Button, ...]:
    """Offer what may be answered, by the kind of answer."""
    layout, kind = trial.layout, FORMS[run.drill.form].answer_kind
    if kind == "marks":
        marks = tuple(Button(f"Mark a {each}", intents.MarkNow(each)) for each in layout.answers)
        done = f"Done, {len(state.marks)} marked"
        return (*marks, Button("Mark anything", intents.MarkNow()), Button(done, intents.AnswerPlaying(), main=True))
    if layout.control:
        unit = layout.control_unit or run.drill.amount.unit
        wording = f"{layout.control_says} {write_amount(layout.control[state.control])} {unit}"
        moves = (Button("Less", intents.MoveControl(-1)), Button("More", intents.MoveControl(1)))
        return (*moves, Button(wording, intents.AnswerPlaying(), main=True))
    if kind == "amount":
        return tuple(
            Button(word_amount(amount, run.drill), intents.GiveAnswer(f"{amount:g}"))
            for amount in list_offers(run.drill)
        )
    if kind == "order":
        return _offer_places(state.order, layout.numbered)
    return tuple(Button(words.word_answer(run.drill, answer), intents.GiveAnswer(answer)) for answer in layout.answers)


def _offer_places(order: tuple[int, ...], count: int) -> tuple[Button, ...]:
    """Offer each version for the next place; those that have one keep their button, which says which."""
    lead = "Next" if order else "First"
    put = [
        Button(f"{number} is {ORDINALS[order.index(number)]}", intents.PutNext(number), selected=True)
        if number in order
        else Button(f"{lead} is {number}", intents.PutNext(number))
        for number in range(1, count + 1)
    ]
    return (*put, Button("Begin again", intents.PutNext(0)))


def _label_version(state: State, run: Run, layout: Layout, number: int) -> str:
    """Say what may be said of a version: its label, or the place that it was given in an order."""
    if FORMS[run.drill.form].answer_kind == "order":
        place = ORDINALS[state.order.index(number)] if number in state.order else NO_PLACE
        return f"{number}, {place}"
    return layout.labels[layout.find_sound(number, state.control)]


def mark_progress(run: Run) -> tuple[Progress, ...]:
    """Mark what was right and wrong, where the run is, and what lies ahead."""
    done: list[Progress] = [_mark(outcome.correct) for outcome in run.outcomes]
    here: list[Progress] = ["current"] if run.phase == "question" else []
    ahead: list[Progress] = ["ahead"] * max(0, run.planned - len(done) - len(here))
    return (*done, *here, *ahead)


def _mark(correct: bool | None) -> Progress:
    return "done" if correct is None else "right" if correct else "wrong"


def draw_waveform(trial: PreparedTrial) -> Waveform:
    """Outline the unprocessed loop, with its place."""
    excerpt = trial.excerpt
    return Waveform(trial.outline, write_time(excerpt.start_s), write_time(excerpt.end_s), excerpt.caption)


def tell_trial(state: State, trial: PreparedTrial, world: World) -> Sounding:
    """Tell what is heard of a trial."""
    return tell_sounding(state.version, trial.sounds.shape[1], world)
