"""What a finished run tells, worded by the form of its questions, and no more than that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from trainer.exercise.families import SET_UP
from trainer.exercise.forms import FORMS
from trainer.exercise.forms.lesson import HEARD
from trainer.exercise.trial import Outcome
from trainer.listening.links import link_for
from trainer.listening.statistics import correct_needed, odds_one_sided
from trainer.listening.threshold import Estimate
from trainer.session.axes import write_tick
from trainer.session.preferences import describe_loudness_bias, describe_preferences
from trainer.session.run import GUESSING_ODDS, Run, misses_largest, seeks_threshold
from trainer.session.words import word_answer, write_span
from trainer.units import write_amount, write_number, write_probability

MOST_ODDS = GUESSING_ODDS
# So many answers say something by their share.
MANY = 15


def describe_result(run: Run) -> str:
    """Head the end of a run with the threshold's range."""
    estimate, unit = run.track.estimate(), run.drill.amount.unit
    if run.drill.form == "lesson" and run.outcomes:
        return run.outcomes[-1].grade.words
    if not seeks_threshold(run):
        return f"{FORMS[run.drill.form].title}: {len(run.outcomes)} done."
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
    sentences = [f"{right} of {len(scored)} right, and all of it is kept."]
    if len(scored) < len(run.outcomes):
        sentences.append(f"{len(run.outcomes) - len(scored)} more did not count: the sound was interrupted.")
    if not seeks_threshold(run):
        return (*_describe_form(run, scored), *sentences[1:])
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


def _describe_form(run: Run, scored: Sequence[Outcome]) -> tuple[str, ...]:
    """Say what a form without a threshold tells."""
    if not scored:
        return ("Nothing that counts yet.",)
    if run.drill.form == "abx":
        return _describe_telling_apart(scored)
    if run.drill.form == "mark_the_moment":
        return _describe_passes(scored)
    if run.drill.form == "set_release":
        inside = sum(bool(outcome.correct) for outcome in scored)
        return (
            f"{inside} of {len(scored)} releases were set where the gain comes back in time and the bass stays smooth.",
        )
    if run.drill.form == "louder_or_better":
        return describe_loudness_bias(scored)
    if run.drill.form == "prefer":
        return describe_preferences(run, scored)
    if run.drill.form == "lesson":
        return _describe_lesson(run, scored[-1])
    if run.drill.form == "put_in_order":
        share = sum(outcome.grade.score for outcome in scored) / len(scored)
        whole = sum(bool(outcome.correct) for outcome in scored)
        return (f"{round(100 * share)} % of all pairs in order; {whole} of {len(scored)} ladders without a mistake.",)
    return _describe_errors(run, scored)


def _describe_lesson(run: Run, outcome: Outcome) -> tuple[str, ...]:
    """Say what follows for the set-up, or what the meter teaches."""
    drill = run.drill
    if drill.subject != SET_UP:
        return drill.teaching.small, f"The usual mistake: {drill.teaching.mistake}"
    if outcome.answer == HEARD:
        return (f"Questions that need it are asked on this set-up, {run.setup}.",)
    left_out = (
        f"Questions that need it are left out on this set-up, {run.setup}. This drill asks again whenever you like."
    )
    return left_out, "That is about loudspeakers, headphones and rooms, and not about your ears."


def _describe_telling_apart(scored: Sequence[Outcome]) -> tuple[str, ...]:
    """Give the verdict of a test of fixed length."""
    right, count = sum(bool(outcome.correct) for outcome in scored), len(scored)
    odds, needed = odds_one_sided(right, count), correct_needed(count)
    first = f"{right} of {count} right. Guessing does as well with a probability of {write_probability(odds)}."
    if odds <= MOST_ODDS:
        return first, "So you can tell these two apart, on this set-up."
    wanted = f"{needed} of {count} are needed" if needed is not None else "so few trials cannot show it"
    return first, f"That does not show that you can tell them apart: {wanted}. It does not show that nobody can."


def _describe_errors(run: Run, scored: Sequence[Outcome]) -> tuple[str, ...]:
    """Give the usual error and the bias of estimates."""
    unit = run.drill.amount.unit
    errors = [outcome.grade.error for outcome in scored if outcome.grade.error is not None]
    usual, bias = sum(abs(e) for e in errors) / len(errors), sum(errors) / len(errors)
    spread = (sum((e - bias) ** 2 for e in errors) / max(1, len(errors) - 1)) ** 0.5
    return (
        f"Your usual error is {write_amount(usual)} {unit}; on average you are "
        f"{write_number(bias, 1, signed=True)} {unit} off.",
        f"Your answers scatter by {write_amount(spread)} {unit} around that.",
    )


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


def _describe_passes(scored: Sequence[Outcome]) -> tuple[str, ...]:
    """Say how many passes were without a mistake, and how late marks come."""
    whole = sum(bool(outcome.correct) for outcome in scored)
    late = [outcome.grade.error for outcome in scored if outcome.grade.error is not None]
    first = f"{whole} of {len(scored)} passes with every fault found and no mark too many."
    if not late:
        return (first,)
    return first, f"Your marks come {write_number(sum(late) / len(late))} s after what they belong to, on average."
