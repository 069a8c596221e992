"""What a run of a form without a threshold tells: its result in a short sentence, then what follows from it."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.exercise.drill import Drill
from trainer.exercise.families import SET_UP
from trainer.exercise.forms.amounts import describe_error
from trainer.exercise.forms.lesson import HEARD
from trainer.exercise.trial import Outcome
from trainer.listening.statistics import correct_needed, odds_one_sided
from trainer.session.preferences import describe_loudness_bias, describe_preferences
from trainer.session.run import GUESSING_ODDS, Run
from trainer.units import begin_large, begin_small, write_amount, write_number, write_probability

# From so many estimates on a usual error is spoken of; fewer tell about themselves only.
FEWEST_FOR_HABIT = 5
# Of the errors so many lie to one side before a side is named.
MOSTLY = 2 / 3
# Marks that are less late than this are in time.
LEAST_LATE_S = 0.1
EVEN_ODDS = (0.45, 0.55)
REACHED = {"low": "the lowest bass", "top": "the highest top"}


def describe_form(run: Run, scored: Sequence[Outcome]) -> tuple[str, ...]:
    """Say what a form without a threshold tells: the result, and what follows."""
    if not scored:
        return ("Nothing that counts yet.",)
    right, count = sum(bool(outcome.correct) for outcome in scored), len(scored)
    form = run.drill.form
    if form == "abx":
        return _describe_telling_apart(right, count)
    if form == "mark_the_moment":
        passes = f"pass{'es' if count != 1 else ''}"
        return f"{right} of {count} {passes} without a mistake.", *_describe_lateness(scored)
    if form == "set_release":
        fits = "A release fits where the gain comes back in time and the bass stays smooth."
        return f"The release fitted: {right} of {count}.", fits
    if form == "louder_or_better":
        return describe_loudness_bias(scored)
    if form == "prefer":
        return _begin_short(describe_preferences(run, scored))
    if form == "lesson":
        return _describe_lesson(run, scored[-1])
    if form == "put_in_order":
        share = sum(outcome.grade.score for outcome in scored) / count
        return f"All in order: {right} of {count}.", f"{round(100 * share)} % of all pairs were in order."
    return _describe_errors(run.drill, scored, right)


def describe_so_far(run: Run) -> str:
    """Say in one sentence what the answers so far tell."""
    scored = [outcome for outcome in run.outcomes if outcome.scored]
    if scored and scored[-1].grade.error is not None and run.drill.form in ("how_much", "match_by_ear"):
        errors = _list_errors(scored)
        if len(errors) < FEWEST_FOR_HABIT:
            return f"This time {describe_error(errors[-1], run.drill.amount.unit) or 'just right'}."
    return describe_form(run, scored)[0]


def _begin_short(sentences: tuple[str, ...]) -> tuple[str, ...]:
    """Let the first sentence end where it has a semicolon."""
    head, _, rest = sentences[0].partition("; ")
    return (f"{head}.", begin_large(rest), *sentences[1:]) if rest else sentences


def _describe_lesson(run: Run, outcome: Outcome) -> tuple[str, ...]:
    """Say what follows for the set-up, or what the meter teaches."""
    drill = run.drill
    if drill.subject != SET_UP:
        return outcome.grade.words, drill.teaching.small, f"The usual mistake: {begin_small(drill.teaching.mistake)}"
    about, again = REACHED.get(drill.reach, "what this asks for"), "This drill asks again whenever you like."
    if outcome.answer == HEARD:
        return f"Questions about {about} will be asked on {run.setup}.", again
    ears = "That is about loudspeakers, headphones and rooms, and not about your ears."
    return f"Questions about {about} are left out on {run.setup}.", ears, again


def _describe_telling_apart(right: int, count: int) -> tuple[str, ...]:
    """Give the verdict of a test of fixed length."""
    odds, needed = odds_one_sided(right, count), correct_needed(count)
    low, high = EVEN_ODDS
    often = "half the time" if low <= odds <= high else f"with a probability of {write_probability(odds)}"
    first = f"X: {right} of {count} right."
    if odds <= GUESSING_ODDS:
        return first, f"Guessing does as well {often}.", "So you can tell these two apart, on this set-up."
    wanted = f"{needed} of {count} are needed" if needed is not None else "so few trials cannot show it"
    shown = f"That does not show that you can tell them apart: {wanted}. It does not show that nobody can."
    return first, f"Guessing does as well {often}.", shown


def _describe_errors(drill: Drill, scored: Sequence[Outcome], right: int) -> tuple[str, ...]:
    """Give the usual error and the side it lies on; of a few answers only what they were."""
    errors, unit = _list_errors(scored), drill.amount.unit
    near = f"{right} of {len(scored)} near enough."
    if len(errors) < FEWEST_FOR_HABIT:
        said = ", then ".join(describe_error(error, unit) or "just right" for error in errors)
        return near, f"{begin_large(said)}."
    usual, bias = sum(abs(e) for e in errors) / len(errors), sum(errors) / len(errors)
    over = sum(error > 0 for error in errors) / len(errors)
    side = "mostly too much" if over >= MOSTLY else "mostly too little" if over <= 1 - MOSTLY else "now over, now under"
    spread = (sum((e - bias) ** 2 for e in errors) / (len(errors) - 1)) ** 0.5
    return (
        f"You are usually {write_amount(usual)} {unit} off, {side}.",
        near,
        f"On average you are {describe_error(bias, unit) or 'just right'}; your answers scatter by "
        f"{write_amount(spread)} {unit} around that.",
    )


def _list_errors(scored: Sequence[Outcome]) -> list[float]:
    return [outcome.grade.error for outcome in scored if outcome.grade.error is not None]


def _describe_lateness(scored: Sequence[Outcome]) -> tuple[str, ...]:
    """Say how late marks come, where it can be felt, and what a mistake is."""
    late = _list_errors(scored)
    counted = "A mistake is a fault that was not marked, or a mark that belongs to none."
    mean_s = sum(late) / len(late) if late else 0.0
    if mean_s < LEAST_LATE_S:
        return (counted,)
    return counted, f"Your marks come {write_number(mean_s)} s after what they belong to, on average."
