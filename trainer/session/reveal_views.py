"""The answer and the end of a run, worded."""

from __future__ import annotations

from trainer.exercise.forms.picking import X
from trainer.exercise.trial import PreparedTrial
from trainer.session import charts, intents, keys, words
from trainer.session.axes import write_tick
from trainer.session.ear_panels import INTERRUPTED, NO_PICTURE, describe_ear, draw_ear, title_ear
from trainer.session.figure import Figure
from trainer.session.frame import make_frame
from trainer.session.receipt_rows import list_receipt
from trainer.session.run import Run, list_last_at_largest, misses_largest, seeks_threshold
from trainer.session.state import DIFFERENCE, State
from trainer.session.summaries import describe_result, describe_run
from trainer.session.trial_views import draw_waveform, mark_progress, tell_trial
from trainer.session.view import Button, EndView, Key, RevealView
from trainer.session.world import World
from trainer.units import begin_large, write_amount, write_number

CHART_WIDTH, CHART_HEIGHT = 548.0, 232.0
# A picture that stands alone takes the whole row.
WHOLE_WIDTH = 1148.0
END = Key("E", "end here", (("e", intents.Do("end")),))
TEACHING_ORDER = ("listen", "how_it_sounds", "taken_for", "mistake", "helps", "attempt")
TEACHING_LEADS = {
    "listen": "",
    "small": "A little of it: ",
    "large": "Much of it: ",
    "taken_for": "Often taken for: ",
    "mistake": "The usual mistake: ",
    "helps": "It helps: ",
    "attempt": "Try it: ",
}


def view_reveal(state: State, run: Run, trial: PreparedTrial, world: World) -> RevealView:
    """Word the answer."""
    outcome = run.outcomes[-1]
    last = run.complete
    lost = misses_largest(run) and not last
    shown = keys.list_reveal_keys(trial.layout.numbered_after)
    effect, ear = words.describe_effect(trial), draw_ear(run, CHART_WIDTH, CHART_HEIGHT)
    alone = ear == NO_PICTURE and not state.receipt_open
    title, figure = _draw_effect(trial, WHOLE_WIDTH if alone else CHART_WIDTH)
    return RevealView(
        frame=make_frame(
            state,
            world,
            run.drill.title,
            "answer shown",
            (*shown[:-2], END, *shown[-2:]) if lost else shown,
        ),
        marks=mark_progress(run),
        right=outcome.correct,
        headline=words.describe_answer(run),
        sentence=effect if outcome.scored or ear != NO_PICTURE else f"{INTERRUPTED} {effect}",
        teaching=say_lost(run) if lost else _choose_teaching(run),
        done_title=title,
        done=figure,
        done_caption=words.describe_change(trial),
        ear_title=title_ear(run),
        ear=ear,
        ear_caption=describe_ear(run, outcome.scored),
        receipt_title=f"Receipt of {_name_target(trial)}: asked, and measured from the sound",
        receipt=list_receipt(trial, run.name),
        receipt_open=state.receipt_open,
        waveform=draw_waveform(trial),
        sounding=tell_trial(state, trial, world),
        versions=_list_versions(state, run, trial),
        go_on=Button("Finish" if last else "Next", intents.GoOn(), main=True),
        stop=Button("End here", intents.Do("end")) if lost else None,
    )


def view_end(state: State, run: Run, world: World) -> EndView:
    """Word the end of a run."""
    frame = make_frame(state, world, run.drill.title, "end of the run", keys.list_end_keys(run.drill.drill))
    return EndView(
        frame=frame,
        marks=mark_progress(run),
        headline=describe_result(run),
        sentences=describe_run(run),
        ear_title=title_ear(run),
        # What the meter reads belongs to one trial, and was shown with it.
        ear=NO_PICTURE if run.drill.form == "lesson" else draw_ear(run, CHART_WIDTH, CHART_HEIGHT),
        ear_caption=words.describe_usual(run.drill) if seeks_threshold(run) else "",
        buttons=(
            Button("Done", intents.GoOn(), main=True),
            Button("Another run", intents.StartDrill(run.drill.drill)),
        ),
    )


def _draw_effect(trial: PreparedTrial, width: float) -> tuple[str, Figure]:
    """Draw what was done, by the kind of the move's picture."""
    picture = trial.effect.picture
    if picture.kind == "response":
        figure = charts.frequency_response(picture.measured, picture.asked, width, CHART_HEIGHT)
        return "What was done, measured", figure
    times = [point[0] for point in picture.measured]
    if picture.kind == "level":
        levels = [point[1] for point in picture.measured]
        return "What was added, over time", charts.level_over_time(times, levels, width, CHART_HEIGHT)
    reduction = [point[1] for point in picture.measured]
    figure = charts.gain_reduction(times, reduction, width, CHART_HEIGHT)
    setting = _find_setting(trial, trial.layout.target)
    return f"Gain reduction over the loop{f' with {setting}' if setting else ''}, measured", figure


def _find_setting(trial: PreparedTrial, place: int) -> str:
    """Give the words of a control's setting, where a sound is one of its settings."""
    layout = trial.layout
    moved = bool(layout.control) and place >= len(layout.takes) - len(layout.control)
    return layout.labels[place].partition(", ")[2] if moved else ""


def _name_target(trial: PreparedTrial) -> str:
    """Name what the receipt is of."""
    if trial.layout.numbered_after == 1:
        return trial.layout.labels[0]
    target = trial.layout.target
    return _find_setting(trial, target) or f"version {target + 1}"


def say_lost(run: Run) -> str:
    """Say that the largest amount is not told, and what to look for; nobody is made to stop."""
    last, amount = list_last_at_largest(run), run.drill.amount
    right = sum(bool(outcome.correct) for outcome in last)
    return (
        f"Not told apart at the largest amount, {write_tick(amount.high)} {amount.unit}: {right} of the last "
        f"{len(last)} right. Check cable, volume and a mono switch, or end here and try another drill."
    )


def _choose_teaching(run: Run) -> str:
    """Give one thing a teacher says, another one each time; how it sounds goes by how much of it there was."""
    name = TEACHING_ORDER[(len(run.outcomes) - 1) % len(TEACHING_ORDER)]
    if name == "how_it_sounds":
        name = "large" if run.outcomes[-1].amount > run.drill.amount.typical else "small"
    return TEACHING_LEADS[name] + _join(getattr(run.drill.teaching, name), TEACHING_LEADS[name])


def _join(sentence: str, lead: str) -> str:
    """Begin in lower case after a lead with a colon."""
    return sentence[0].lower() + sentence[1:] if lead else sentence


def _list_versions(state: State, run: Run, trial: PreparedTrial) -> tuple[Button, ...]:
    """Name the versions, the processed one with its amount, and the difference."""
    buttons = [
        Button(_name_version(run, trial, number, state.control), intents.Listen(number), False, state.version == number)
        for number in range(1, trial.layout.numbered_after + 1)
    ]
    changed = Button("Only what changed", intents.OnlyWhatChanged(), selected=state.version == DIFFERENCE)
    return (*buttons, changed)


def _name_version(run: Run, trial: PreparedTrial, number: int, control: int) -> str:
    """Name a version by its number, and say what it was."""
    layout = trial.layout
    if layout.numbered_after == 1:
        return begin_large(layout.labels[0])
    if layout.labels[number - 1] == X:
        return f"{X} · the same as {layout.right_answer}"
    place = layout.find_sound(number, control)
    return f"Version {number}" + (_write_name(trial, place) or _write_take(run, trial, place))


def _write_name(trial: PreparedTrial, place: int) -> str:
    """Write what a version is called, where it has a name, is a control's setting, or stands as it is beside X."""
    layout = trial.layout
    if layout.names:
        return f" · {layout.names[place]}"
    if setting := _find_setting(trial, place):
        return f" · {setting}"
    if layout.takes[place].processed:
        return ""
    words = layout.labels[place].partition(", ")[2] or ("as it is" if X in layout.labels else "")
    return f" · {words}" if words else ""


def _write_take(run: Run, trial: PreparedTrial, place: int) -> str:
    """Write how much of what a version had."""
    take = trial.layout.takes[place]
    if not take.processed:
        return ""
    unit = trial.versions[place].unit or run.drill.amount.unit
    signed = run.drill.signed or take.amount < 0
    number = write_number(take.amount) if run.drill.rungs else write_amount(take.amount, signed)
    return f" · {number} {unit}"
