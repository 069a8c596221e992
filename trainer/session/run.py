"""One run of a drill: what to ask next, what an answer means, when it ends."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from datetime import datetime, timezone
from typing import Literal

from trainer import __version__
from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.forms.amounts import draw_amount
from trainer.exercise.history import MARK_DELAY, Standing, StoredTrial
from trainer.exercise.practice import MISSES_IN_A_ROW
from trainer.exercise.trial import Outcome, PreparedTrial, TrialSpec
from trainer.listening.links import link_for
from trainer.listening.statistics import odds_one_sided
from trainer.listening.threshold import Track
from trainer.session.charts import EarPoint

# An ear that tells three of four has 3 or fewer of 8 right in 1 of 37 tries (binomial distribution).
LAST_AT_LARGEST, FEW_RIGHT = 8, 3
GUESSING_ODDS = 0.05

Phase = Literal["waiting", "demonstration", "question", "reveal", "finished"]


@dataclass(frozen=True)
class Run:
    """Hold a run; changed by replacement.

    Parameters
    ----------
    drill : Drill
        What is trained.
    seed : int
        Of the run.
    planned : int
        Scored trials that are planned.
    demonstrations : int
        Labelled examples still to come.
    setup, audio_class : str
        The conditions that the threshold belongs to.
    track : Track
        The threshold as known now.
    before : Track
        The same when the run began.
    phase : str
        ``waiting`` for a trial to be made, ``demonstration``, ``question``, ``reveal`` or ``finished``.
    index : int
        Of the trial that is open or wanted next.
    trial : PreparedTrial or None
        What is open.
    name : str
        UUID of the trial that is open.
    outcomes : tuple of Outcome
        Answered so far.
    points : tuple of EarPoint
        For the chart of the run.
    delay_s : float
        The person's own delay in marking moments, taken off marks that are made while listening.
    reminds : bool
        Whether a labelled example comes back after three misses in a row.
    reminded : int
        Answers that were there when it came last.
    """

    drill: Drill
    seed: int
    planned: int
    demonstrations: int
    setup: str
    audio_class: str
    track: Track
    before: Track
    phase: Phase = "waiting"
    index: int = 0
    trial: PreparedTrial | None = None
    name: str = ""
    outcomes: tuple[Outcome, ...] = ()
    points: tuple[EarPoint, ...] = ()
    delay_s: float = 0.0
    reminds: bool = False
    reminded: int = 0

    @property
    def complete(self) -> bool:
        """Tell whether all planned trials have been answered."""
        return len(self.outcomes) >= self.planned


def begin_run(standing: Standing, seed: int, planned: int, with_examples: bool) -> Run:
    """Begin a run where the ear stands today, with labelled examples if they are wanted and the form has any."""
    demonstrations = int(with_examples and FORMS[standing.drill.form].explains)
    return Run(
        standing.drill,
        seed,
        planned,
        demonstrations,
        standing.setup,
        standing.audio_class,
        standing.track,
        standing.track,
        reminds=demonstrations > 0,
    )


def specify_next(run: Run) -> TrialSpec:
    """Say what trial is wanted next.

    A labelled example comes first. The very first question of a skill is the drill's starting amount, easy to hear;
    from then on it is what teaches most about the threshold.
    """
    if run.demonstrations > 0:
        return TrialSpec(run.drill, run.seed, 0, run.drill.amount.demonstration, demonstration=True)
    return TrialSpec(run.drill, run.seed, len(run.outcomes), _choose_amount(run))


def _choose_amount(run: Run) -> float:
    """Choose how much: by the threshold, by lot, or always the same, as the form has it."""
    drill, form = run.drill, FORMS[run.drill.form]
    task = form.task(drill)
    if form.placement == "by_lot":
        return draw_amount(drill, run.seed, len(run.outcomes))
    if form.placement == "fixed" or task is None or run.track.estimate().trials == 0:
        return drill.amount.start
    return run.track.next_amount(task)


def open_trial(run: Run, trial: PreparedTrial, now: datetime) -> Run:
    """Open a trial that has been made, under a name of its own."""
    phase: Phase = "demonstration" if trial.spec.demonstration else "question"
    mark = f"{now.isoformat()} {run.drill.drill} {run.seed} {trial.spec.index} {run.setup}"
    name = str(uuid.uuid5(uuid.NAMESPACE_OID, mark))
    return replace(run, trial=trial, name=name, index=trial.spec.index, phase=phase)


def leave_demonstration(run: Run) -> Run:
    """Go on from a labelled example."""
    return replace(run, demonstrations=max(0, run.demonstrations - 1), phase="waiting", trial=None)


def answer_trial(run: Run, text: str, response_s: float, now: datetime, interrupted: bool) -> tuple[Run, StoredTrial]:
    """Judge an answer and learn from it.

    Parameters
    ----------
    run : Run
        With a question open.
    text : str
        The answer as given.
    response_s : float
        Time since the question was put, s.
    now : datetime
        Time of the answer, with its zone.
    interrupted : bool
        Whether the sound had gaps: then the trial is kept but does not count.

    Returns
    -------
    tuple of Run and StoredTrial
        The run with its reveal open, and what has to be kept.

    Raises
    ------
    BadValue
        If it is no possible answer; the question stays open.
    """
    trial = run.trial
    assert trial is not None and run.phase == "question"
    form = FORMS[run.drill.form]
    answer = form.read_answer(text, trial.layout)
    grade, amount = form.grade(answer, trial.layout, run.drill), trial.spec.amount
    outcome = Outcome(
        run.name,
        run.index,
        amount,
        trial.effect.amount,
        answer,
        trial.right_answer,
        grade,
        response_s,
        not interrupted,
    )
    task = form.task(run.drill)
    counts = outcome.scored and task is not None and grade.correct is not None
    track = run.track.after(amount, bool(grade.correct), task) if counts and task else run.track
    estimate = track.estimate()
    point = EarPoint(amount, bool(grade.correct), estimate.median, estimate.low, estimate.high)
    points = (*run.points, point) if counts else run.points
    answered = replace(run, track=track, outcomes=(*run.outcomes, outcome), points=points, phase="reveal")
    return _remind(answered), _to_stored(run, trial, outcome, now)


def _remind(run: Run) -> Run:
    """Want a labelled example again after three misses in a row, where questions seek a threshold."""
    since = run.outcomes[run.reminded :][-MISSES_IN_A_ROW:]
    lost = len(since) == MISSES_IN_A_ROW and not any(outcome.correct for outcome in since)
    if not (lost and run.reminds and seeks_threshold(run)) or run.complete:
        return run
    return replace(run, demonstrations=1, reminded=len(run.outcomes))


def list_last_at_largest(run: Run) -> tuple[Outcome, ...]:
    """List the last answers that count at the largest amount that can be asked, as many as tell something."""
    largest = run.drill.amount.high * 0.99
    return tuple(o for o in run.outcomes if o.scored and o.amount >= largest)[-LAST_AT_LARGEST:]


def misses_largest(run: Run) -> bool:
    """Tell whether not even the largest amount is told better than by guessing."""
    task, last = FORMS[run.drill.form].task(run.drill), list_last_at_largest(run)
    if not seeks_threshold(run) or task is None or len(last) < LAST_AT_LARGEST:
        return False
    right = sum(bool(outcome.correct) for outcome in last)
    return right <= FEW_RIGHT and odds_one_sided(right, len(last), link_for(task).guess) > GUESSING_ODDS


def end_early(run: Run) -> Run:
    """End a run at what has been answered."""
    return go_on(replace(run, planned=len(run.outcomes)))


def seeks_threshold(run: Run) -> bool:
    """Tell whether a run's questions look for a threshold."""
    return FORMS[run.drill.form].placement == "threshold"


def takes_marks(run: Run) -> bool:
    """Tell whether a run's questions are answered by marks, one after the other."""
    return FORMS[run.drill.form].answer_kind == "marks"


def read_one_mark(run: Run, text: str) -> str:
    """Read one mark of several, and write it in one way; refuses what is none."""
    assert run.trial is not None
    return FORMS[run.drill.form].read_answer(text, run.trial.layout)


def shows_answer(run: Run) -> bool:
    """Tell whether what was so is shown now: after each answer, or only after the last one of a run."""
    return run.complete or FORMS[run.drill.form].reveals == "each"


def go_on(run: Run) -> Run:
    """Go on from a reveal: to the next trial, or to the end."""
    return replace(run, phase="finished" if run.complete else "waiting", trial=None, index=len(run.outcomes))


def _to_stored(run: Run, trial: PreparedTrial, outcome: Outcome, now: datetime) -> StoredTrial:
    """Gather what is kept."""
    return StoredTrial(
        trial=outcome.trial,
        answered_at=now.astimezone(timezone.utc).isoformat(timespec="microseconds"),
        day=now.toordinal(),
        drill=run.drill.drill,
        form=run.drill.form,
        move=run.drill.move,
        skill=run.drill.skill,
        unit=run.drill.amount.unit,
        seed=run.seed,
        index=outcome.index,
        amount=outcome.amount,
        measured_amount=outcome.measured,
        audio_title=trial.song.title,
        audio_path=trial.song.path,
        audio_sha256=trial.sha256,
        audio_class=trial.song.audio_class,
        start_s=trial.excerpt.start_s,
        end_s=trial.excerpt.end_s,
        setup=run.setup,
        answer=outcome.answer,
        right_answer=outcome.right_answer,
        correct=outcome.correct,
        task=FORMS[run.drill.form].task(run.drill) or "",
        score=outcome.grade.score,
        error=outcome.grade.error,
        scored=outcome.scored,
        response_s=outcome.response_s,
        loudness_lufs=trial.versions[0].loudness_lufs,
        spread_lu=trial.spread_lu,
        asked=dict(trial.asked),
        measured={**trial.effect.measured, **({MARK_DELAY: run.delay_s} if takes_marks(run) else {})},
        program=__version__,
    )
