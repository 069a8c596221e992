"""The second picture of an answer and of a run's end: where the ear stands, by the form of the questions."""

from __future__ import annotations

from trainer.exercise.forms.preferring import gather_choices, list_versions, name_versions
from trainer.listening.preference import count_wins
from trainer.session import charts, tables, words
from trainer.session.answer_charts import errors_over_trials, pairs_over_trials
from trainer.session.figure import Figure
from trainer.session.form_words import describe_so_far
from trainer.session.receipt_rows import list_readings
from trainer.session.run import Run, seeks_threshold

INTERRUPTED = "The sound was interrupted: this trial is kept but does not count."
NO_PICTURE = Figure(0.0, 0.0, ())
LOUDER = ("the louder copy", "the softer copy")


def title_ear(run: Run) -> str:
    """Head the picture."""
    if seeks_threshold(run):
        return "Where your ear stands"
    if run.drill.form == "lesson":
        return "What the meter reads"
    if run.drill.form in ("prefer", "louder_or_better"):
        return "What you preferred"
    return "Pairs in order" if run.drill.form == "put_in_order" else "How far off you were"


def draw_ear(run: Run, width: float, height: float) -> Figure:
    """Draw the threshold over the trials, or what the form has instead of one; nothing where marks say it all."""
    amount = run.drill.amount
    if seeks_threshold(run):
        return charts.ear_over_trials(run.points, amount.unit, amount.usual, run.planned, width, height, amount.high)
    if run.drill.form == "lesson" and run.trial is not None:
        return tables.readings(list_readings(run.trial), width, height)
    if run.drill.form == "prefer":
        return tables.shares(_count_versions(run), width, height)
    if run.drill.form == "louder_or_better":
        won, count = sum(outcome.grade.score > 0.5 for outcome in run.outcomes), len(run.outcomes)
        rows = [(name, taken, count) for name, taken in zip(LOUDER, (won, count - won), strict=True)]
        return tables.shares(rows, width, height)
    if run.drill.form == "put_in_order":
        shares = [(outcome.grade.score, bool(outcome.correct)) for outcome in run.outcomes]
        return pairs_over_trials(shares, run.planned, width, height)
    if run.drill.form in ("how_much", "match_by_ear"):
        errors = [(outcome.grade.error or 0.0, bool(outcome.correct)) for outcome in run.outcomes]
        return errors_over_trials(errors, amount.unit, amount.typical / 2, run.planned, width, height)
    # Right or wrong is all there is, and the marks on top of the page say it.
    return NO_PICTURE


def describe_ear(run: Run, scored: bool) -> str:
    """Say what is known, or that this trial does not count."""
    if not scored:
        return INTERRUPTED
    if not seeks_threshold(run):
        return describe_so_far(run)
    return words.describe_estimate(run.track.estimate(), run.drill.amount.unit)


def _count_versions(run: Run) -> list[tuple[str, float, float]]:
    """Count how often each version was preferred, the most often preferred first."""
    names = name_versions(run.drill)
    answers = [(outcome.index, outcome.answer) for outcome in run.outcomes if outcome.scored]
    wins = count_wins(gather_choices(run.drill, run.seed, answers), len(list_versions(run.drill, 0.0)))
    rows = [
        (name, float(won), float(met))
        for name, won, met in zip(names, wins.sum(1), (wins + wins.T).sum(1), strict=True)
    ]
    return sorted(rows, key=lambda row: -row[1] / max(row[2], 1.0))
