"""What a finished run tells, worded by the form of its questions, and no more than that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from trainer.exercise.forms import FORMS
from trainer.exercise.trial import Outcome
from trainer.listening.links import link_for
from trainer.listening.statistics import odds_one_sided
from trainer.listening.threshold import Estimate
from trainer.session.axes import write_tick
from trainer.session.form_words import describe_form
from trainer.session.run import GUESSING_ODDS, Run, misses_largest, seeks_threshold
from trainer.session.words import word_answer, write_span
from trainer.units import write_amount

MOST_ODDS = GUESSING_ODDS
# So many answers say something by their share.
MANY = 15


def describe_result(run: Run) -> str:
    """Head the end of a run with the threshold's range, or with what the form has instead."""
    estimate, unit = run.track.estimate(), run.drill.amount.unit
    if not seeks_threshold(run):
        return describe_form(run, [outcome for outcome in run.outcomes if outcome.scored])[0]
    if estimate.trials == 0:
        return "Nothing that counts yet."
    if estimate.edge == "low":
        return f"Your ear: under {write_amount(estimate.high)} {unit}."
    scored = [outcome for outcome in run.outcomes if outcome.scored]
    if _is_lost(scored, run):
        return f"Not told apart at {write_tick(max(outcome.amount for outcome in scored))} {unit}."
    if estimate.edge == "high":
        return "Your ear: not known yet."
    return f"Your ear: between {write_amount(estimate.low)} and {write_amount(estimate.high)} {unit}."


def describe_run(run: Run) -> tuple[str, ...]:
    """Say what a finished run tells, and no more than that."""
    scored = [outcome for outcome in run.outcomes if outcome.scored]
    right = sum(bool(outcome.correct) for outcome in scored)
    estimate, unit, was = run.track.estimate(), run.drill.amount.unit, run.before.estimate()
    sentences = [f"{right} of {len(scored)} right. Saved."]
    if len(scored) < len(run.outcomes):
        sentences.append(f"{len(run.outcomes) - len(scored)} more did not count: the sound was interrupted.")
    if not seeks_threshold(run):
        return (*describe_form(run, scored)[1:], *sentences[1:])
    sentences += _describe_confusions(run, scored)
    if estimate.trials == 0:
        return tuple(sentences)
    if _is_lost(scored, run):
        sentences.append(
            "Even large amounts were missed about as often as by guessing. Check cable, volume and a mono switch, hear "
            "the labelled example again, and begin with what changes in it."
        )
        asked = f"this drill asks up to {write_tick(run.drill.amount.high)} {unit}"
        sentences.append(f"The range, {_write_reach(estimate, unit)}, is no measurement: {asked}.")
        return tuple(sentences)
    if estimate.edge == "high":
        sentences.append("That is too little to say more: the range still reaches beyond what can be asked.")
        return tuple(sentences)
    if len(scored) >= MANY:
        sentences[0] += " The questions follow your ear, so about three in four is what to expect."
    if estimate.settled:
        sentences.append(f"Most likely your ear tells this move from about {write_amount(estimate.median)} {unit}.")
    else:
        sentences.append("That range is still wide: another day will narrow it.")
    if was.trials:
        sentences.append(
            f"Before this run it was {write_span(was, unit)}. One day tells little; "
            "a change is claimed only from separate blocks of days."
        )
    if run.track.slips_likely():
        sentences.append("Some answers look like slips of attention. A shorter run may serve you better.")
    return tuple(sentences)


def _is_lost(scored: Sequence[Outcome], run: Run) -> bool:
    """Tell whether a run's answers are those of guessing, up to amounts beyond which the drill asks nothing."""
    estimate = run.track.estimate()
    beyond = estimate.trials > 0 and (estimate.edge == "high" or misses_largest(run))
    return bool(scored) and beyond and _is_guessing(scored, run)


def _write_reach(estimate: Estimate, unit: str) -> str:
    """Write the range; where it leaves what can be asked, only its lower end."""
    if estimate.edge == "high":
        return f"over {write_amount(estimate.low)} {unit}"
    return f"{write_amount(estimate.low)} to {write_amount(estimate.high)} {unit}"


def _is_guessing(scored: Sequence[Outcome], run: Run) -> bool:
    """Tell whether so many right answers, or more, are had by guessing in one of twenty runs or oftener."""
    task = FORMS[run.drill.form].task(run.drill)
    right = sum(bool(outcome.correct) for outcome in scored)
    return task is not None and odds_one_sided(right, len(scored), link_for(task).guess) > MOST_ODDS


def _describe_confusions(run: Run, scored: Sequence[Outcome]) -> list[str]:
    """Name what was taken for what most often."""
    wrong = Counter((o.right_answer, o.answer) for o in scored if not o.correct)
    if not run.drill.choices or not wrong:
        return []
    (right, said), count = wrong.most_common(1)[0]
    if count < 2:
        return []
    pair = [word_answer(run.drill, answer, bare=True) for answer in (right, said)]
    return [f"Most often mixed up: {pair[0]} was taken for {pair[1]}, {count} times."]
