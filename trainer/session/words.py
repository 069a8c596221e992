"""Sentences for people: plain, short, exact, with units, and no false digits."""

from __future__ import annotations

from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.pace import find_seconds
from trainer.exercise.trial import PreparedTrial
from trainer.listening.threshold import Estimate
from trainer.session.axes import write_tick
from trainer.session.run import Run
from trainer.units import write_amount, write_number, write_range

CAUTIONS = (
    "Turn your volume down before the first sound. Then set a level at which you could talk over the music, and leave "
    "it there.",
    "80 dBA for 40 hours a week is the WHO/ITU reference for adults, 75 dBA for sensitive listeners; each 3 dB more "
    "halves the time. Evenhand cannot know the level at your ears.",
    "Stop and rest if your ears ring or sounds turn dull.",
    "This is practice and no hearing test. Take any worry about your hearing to an audiologist or a physician. "
    "At work, local rules apply.",
)
CAUTION_LINE = (
    "Keep it comfortable, and rest if your ears ring or sounds turn dull. This is practice, not a hearing test."
)
NO_SOUND_RUN = "No sound: answers of this run are kept apart, as silent, and touch no threshold."

RELEASE_FITS = "Where a release fits, most of the gain is back before the next hit, and the bass stays smooth."
_SETTLE = "still finding you"
FEWEST_FOR_BOUND = 8
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def count_words(number: int) -> str:
    """Write a small number in words."""
    return _NUMBERS[number] if 0 <= number < len(_NUMBERS) else str(number)


def is_too_early(estimate: Estimate) -> bool:
    """Tell whether a bound rests on so few answers that it would only be a slip, or a lucky start."""
    return estimate.edge is not None and estimate.trials < FEWEST_FOR_BOUND


def describe_estimate(estimate: Estimate, unit: str) -> str:
    """Say where a threshold lies: the range first, and whether it is settled."""
    if estimate.trials == 0:
        return "not yet heard"
    if is_too_early(estimate):
        return f"{_SETTLE} after {estimate.trials} trial{'s' if estimate.trials != 1 else ''}"
    if estimate.edge == "low":
        return f"under {write_amount(estimate.high)} {unit}, less than this drill can tell"
    if estimate.edge == "high":
        return f"over {write_amount(estimate.low)} {unit}, more than this drill can ask"
    trials = f"{estimate.trials} trial{'s' if estimate.trials != 1 else ''}"
    span = f"between {write_amount(estimate.low)} and {write_amount(estimate.high)} {unit}"
    if not estimate.settled:
        return f"{span} after {trials}: {_SETTLE}"
    return f"{span}, most likely {write_amount(estimate.median)}; {trials}"


def write_span(estimate: Estimate, unit: str) -> str:
    """Write an estimate as a range; where it leaves what can be tested, as a bound."""
    if estimate.trials == 0:
        return "not yet heard"
    if is_too_early(estimate):
        return _SETTLE
    if estimate.edge == "low":
        return f"under {write_amount(estimate.high)} {unit}"
    if estimate.edge == "high":
        return f"over {write_amount(estimate.low)} {unit}"
    return write_range(estimate.low, estimate.high, unit)


def describe_answer(run: Run) -> str:
    """Head the reveal."""
    outcome = run.outcomes[-1]
    if outcome.correct is None:
        return outcome.grade.words
    if outcome.correct:
        return f"Yes. {outcome.grade.words}"
    said = "" if outcome.grade.error is not None else f" You said {word_answer(run.drill, outcome.answer, bare=True)}."
    return f"No. {outcome.grade.words}{said}"


def word_answer(drill: Drill, answer: str, bare: bool = False) -> str:
    """Word an answer that is offered: a version, or the name of a change."""
    choice = next((each for each in drill.choices if each.answer == answer), None)
    if choice is not None:
        return choice.words
    if bare:
        return answer
    if drill.form in ("prefer", "louder_or_better"):
        return f"I prefer {answer}"
    return {"abx": f"X is {answer}", "lesson": answer}.get(drill.form, f"It is {answer}")


def describe_offers(run: Run) -> str:
    """Say what the versions are and what may be answered, for a line of text."""
    assert run.trial is not None
    layout, unit = run.trial.layout, run.drill.amount.unit
    if layout.control:
        unit = layout.control_unit or unit
        span = f"{write_amount(layout.control[0])} to {write_amount(layout.control[-1])} {unit}"
        first = layout.labels[0].split(", ")[-1]
        return f"1 is {first}, 2 is your control, + and - move it ({span}). Answer: = and the value in {unit}"
    numbered = enumerate(layout.labels[: layout.numbered], 1)
    known = [label if label[0].isdigit() else f"{n} is {label}" for n, label in numbered if not label.isdigit()]
    shown = f"Versions: {'; '.join(known)}. " if known else ""
    kind = FORMS[run.drill.form].answer_kind
    if kind == "amount":
        return f"{shown}Answer: = and the amount in {unit}"
    if kind == "marks":
        named = ", ".join(layout.answers)
        return f"Answer: = and a time in s with {named}, as many as you heard; then =done"
    if kind == "order":
        return "Answer: = and all the numbers, in that order"
    return f"{shown}Answers: " + " ".join(f"={answer}" for answer in layout.answers)


def describe_effect(trial: PreparedTrial) -> str:
    """Say what was done, from what was measured on this clip; of a release, first what it is to do."""
    fits = (RELEASE_FITS,) if trial.spec.drill.form == "set_release" else ()
    return " ".join((*fits, *trial.effect.sentences))


def describe_change(trial: PreparedTrial) -> str:
    """Say how far from the song the difference lies."""
    side = "below" if trial.change_db <= 0 else "above"
    return f"What changed lies {write_number(abs(trial.change_db), 0)} dB {side} the song."


def describe_balance(trial: PreparedTrial) -> str:
    """Say at what loudness all versions play."""
    if trial.spec.drill.form == "louder_or_better":
        # What it is about is not said before the answer: the ear is to be met unwarned.
        return "both at a comfortable level"
    if not trial.loudness_matched:
        return "not matched: level is the question"
    word = {1: "", 2: "both "}.get(trial.numbered, "all ")
    return f"{word}at {write_number(trial.versions[0].loudness_lufs)} LUFS"


def describe_remaining(run: Run) -> str:
    """Say where in the run this is and how long it may take."""
    left = max(0, run.planned - len(run.outcomes))
    answered = [outcome.response_s for outcome in run.outcomes]
    each = sum(answered) / len(answered) + 4.0 if answered else find_seconds(run.drill.form)
    minutes = max(1, round(left * min(each, 60.0) / 60))
    return f"Trial {run.index + 1} of {run.planned} · about {minutes} minute{'s' if minutes != 1 else ''} left"


def describe_usual(drill: Drill) -> str:
    """Name a usual amount, for the amber line."""
    return f"a usual amount: {write_tick(drill.amount.usual)} {drill.amount.unit} (common practice)"
