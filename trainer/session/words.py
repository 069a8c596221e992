"""Sentences for people: plain, short, exact, with units, and no false digits."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.exercise.drill import Drill
from trainer.exercise.plan import SECONDS_A_TRIAL, PlanLine
from trainer.exercise.trial import PreparedTrial
from trainer.listening.threshold import Estimate
from trainer.session.run import Run
from trainer.units import write_amount, write_number, write_range

CAUTIONS = (
    "Set a comfortable level first, the one at which you would talk over the music, and leave it there.",
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

_SETTLE = "still finding you"
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

# Quantities on a receipt: words and unit.


def count_words(number: int) -> str:
    """Write a small number in words."""
    return _NUMBERS[number] if 0 <= number < len(_NUMBERS) else str(number)


def describe_estimate(estimate: Estimate, unit: str) -> str:
    """Say where a threshold lies: the range first, and whether it is settled."""
    if estimate.trials == 0:
        return "not yet heard"
    if estimate.edge == "low":
        return f"finer than this drill can tell: below {write_amount(estimate.high)} {unit}"
    if estimate.edge == "high":
        return f"coarser than this drill can tell: above {write_amount(estimate.low)} {unit}"
    trials = f"{estimate.trials} trial{'s' if estimate.trials != 1 else ''}"
    span = f"between {write_amount(estimate.low)} and {write_amount(estimate.high)} {unit}"
    if not estimate.settled:
        return f"{span} after {trials}: {_SETTLE}"
    return f"{span}, most likely {write_amount(estimate.median)}; {trials}"


def write_span(estimate: Estimate, unit: str) -> str:
    """Write an estimate as a range; where it leaves what can be tested, as a bound."""
    if estimate.trials == 0:
        return "not yet heard"
    if estimate.edge == "low":
        return f"under {write_amount(estimate.high)} {unit}"
    if estimate.edge == "high":
        return f"over {write_amount(estimate.low)} {unit}"
    return write_range(estimate.low, estimate.high, unit)


def describe_plan(line: PlanLine) -> tuple[str, str, str]:
    """Word a line of the plan: what it is, the range so far, and why it is there."""
    drill = line.standing.drill
    minutes = max(1, round(line.trials * SECONDS_A_TRIAL / 60))
    estimate = line.standing.track.estimate()
    span = write_span(estimate, drill.amount.unit)
    since = _describe_days(line.days_since)
    why = {
        "new": "new to you",
        "uncertain": f"{_SETTLE} · {since}",
        "overdue": f"last practised {since}",
        "weak": f"practised {since}",
        "done": "practised today",
    }[line.reason]
    return f"{drill.short_question} · {line.trials} trials · {minutes} min", span, why


def describe_plan_length(lines: Sequence[PlanLine]) -> str:
    """Say how long what is left of the plan takes."""
    left = [line.trials for line in lines if line.reason != "done"]
    if not left:
        return "Done for today."
    minutes = max(1, round(sum(left) * SECONDS_A_TRIAL / 60))
    return f"{count_words(minutes).capitalize()} minute{'s' if minutes != 1 else ''}."


def describe_choice(lines: Sequence[PlanLine]) -> str:
    """Say how the plan came about."""
    left = [line for line in lines if line.reason != "done"]
    if not left:
        return "All of it was practised today. A rest does more now than another run."
    if len(left) < len(lines):
        return "One skill in depth is done. What is left are short looks."
    looks = f", then {count_words(len(left) - 1)} short look{'s' if len(left) != 2 else ''}" if len(left) > 1 else ""
    return f"One skill in depth{looks}. Chosen from what is least certain."


def describe_answer(run: Run) -> str:
    """Head the reveal."""
    outcome = run.outcomes[-1]
    if outcome.correct:
        return f"Yes, it was {outcome.right_answer}."
    return f"No: it was {outcome.right_answer}, and you said {outcome.answer}."


def describe_effect(trial: PreparedTrial) -> str:
    """Say what was done, from what was measured on this clip."""
    return " ".join(trial.effect.sentences)


def describe_change(trial: PreparedTrial) -> str:
    """Say how far below the song the difference lies."""
    return f"What changed lies {write_number(-trial.change_db, 0)} dB below the song."


def describe_balance(trial: PreparedTrial) -> str:
    """Say at what loudness all versions play."""
    word = "both" if len(trial.versions) == 2 else "all"
    return f"{word} at {write_number(trial.versions[0].loudness_lufs)} LUFS"


def describe_remaining(run: Run) -> str:
    """Say where in the run this is and how long it may take."""
    left = max(0, run.planned - len(run.outcomes))
    answered = [outcome.response_s for outcome in run.outcomes]
    each = sum(answered) / len(answered) + 4.0 if answered else SECONDS_A_TRIAL
    minutes = max(1, round(left * min(each, 60.0) / 60))
    return f"Trial {run.index + 1} of {run.planned} · about {minutes} minute{'s' if minutes != 1 else ''} left"


def describe_processed(drill: Drill, amount: float) -> str:
    """Word the processed version of a labelled example."""
    text = f"{write_amount(amount, signed=drill.move != 'limiter')} {drill.amount.unit}"
    return drill.processed_words.format(amount=text)


def describe_result(run: Run) -> str:
    """Head the end of a run with the threshold's range."""
    estimate, unit = run.track.estimate(), run.drill.amount.unit
    if estimate.trials == 0:
        return "Nothing that counts yet."
    if estimate.edge == "low":
        return f"Your ear: finer than {write_amount(estimate.high)} {unit}."
    if estimate.edge == "high":
        return f"Your ear: coarser than {write_amount(estimate.low)} {unit}."
    return f"Your ear: between {write_amount(estimate.low)} and {write_amount(estimate.high)} {unit}."


def describe_run(run: Run) -> tuple[str, ...]:
    """Say what a finished run tells, and no more than that."""
    scored = [outcome for outcome in run.outcomes if outcome.scored]
    right = sum(outcome.correct for outcome in scored)
    estimate, unit, was = run.track.estimate(), run.drill.amount.unit, run.before.estimate()
    sentences = [f"{right} of {len(scored)} right, and all of it is kept."]
    if len(scored) < len(run.outcomes):
        sentences.append(f"{len(run.outcomes) - len(scored)} more did not count: the sound was interrupted.")
    if estimate.trials == 0:
        return tuple(sentences)
    if estimate.edge == "high":
        sentences.append(
            "Even large amounts were missed about as often as by guessing. Hear the labelled example again, check the "
            "volume, and begin with what changes in it."
        )
        return tuple(sentences)
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


def describe_usual(drill: Drill) -> str:
    """Name a usual amount, for the amber line."""
    return f"a usual amount: {write_amount(drill.amount.usual)} {drill.amount.unit} (common practice)"


def _describe_days(days: int | None) -> str:
    if days is None:
        return "never"
    return "today" if days <= 0 else "yesterday" if days == 1 else f"{days} days ago"
