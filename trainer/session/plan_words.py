"""Today's plan in words: what each line is and why it is there, how long all of it takes, and when to take a break."""

from __future__ import annotations

from trainer.exercise.curriculum import LeftOut
from trainer.exercise.forms import FORMS
from trainer.exercise.plan import MOST_DAYS, DayPlan, PlanLine
from trainer.session.words import count_words, write_span
from trainer.units import begin_large

STILL_FINDING = "still finding you"


def describe_line(line: PlanLine) -> tuple[str, str, str]:
    """Word a line of the plan: what it is, the range so far where there is one, and why it is there."""
    drill, estimate = line.standing.drill, line.standing.track.estimate()
    seeks = FORMS[drill.form].placement == "threshold"
    span = write_span(estimate, drill.amount.unit) if seeks and estimate.trials else ""
    trials = f"{line.trials} trial{'s' if line.trials != 1 else ''}"
    return f"{drill.short_question} · {trials} · {_count_minutes(line.seconds)} min", span, _describe_reason(line)


def describe_length(plan: DayPlan) -> str:
    """Say how long what is left of the plan takes: the sum of what its lines say."""
    if not plan.left:
        return "Done for today."
    minutes = sum(_count_minutes(line.seconds) for line in plan.left)
    return f"{count_words(minutes).capitalize()} minute{'s' if minutes != 1 else ''}."


def describe_choice(plan: DayPlan) -> str:
    """Say what the plan is made of, how its main part was chosen, and what is left out."""
    return " ".join((_describe_parts(plan), *(_describe_left_out(each) for each in plan.left_out)))


def describe_break(minutes: float) -> str:
    """Propose a break after so many minutes of practice without a pause."""
    return (
        f"{int(minutes)} minutes of practice without a pause. Listening tests stop after 20 to 30 minutes "
        "(ITU-R BS.1116): take a break; the rest of the plan can wait."
    )


def _describe_parts(plan: DayPlan) -> str:
    """Name the parts that are left; before the first of them is done, with the reason of the main one."""
    left = plan.left
    if not left:
        return "All of it was practised today. More can wait until tomorrow." if plan.lines else "There are no drills."
    depth = next((line for line in left if line.part == "depth"), None)
    looks = sum(line.part == "look" for line in left)
    short = f"{count_words(looks)} short look{'s' if looks != 1 else ''}"
    if depth is None:
        was_there = any(line.part == "depth" for line in plan.lines)
        first = "The skill in depth is done; left: " if was_there and looks else ""
        return begin_large(f"{first}{short}." if looks else "One question about the set-up.")
    first = "one question about the set-up, then " if left[0].part == "check" else ""
    then = f", then {short}" if looks else ""
    return f"{begin_large(f'{first}one skill in depth{then}.')} {_describe_main(depth)}"


def _describe_main(depth: PlanLine) -> str:
    """Say how the skill in depth was chosen."""
    title = f"“{depth.standing.drill.title}”"
    return {
        "stays": _describe_stay(depth),
        "new": f"{title} is new, and stays for some days.",
        "new_here": f"{title} is new under these conditions, and stays for some days.",
        "sheet": f"{title} comes in depth, since a decision sheet needs it.",
        "lost": f"{title} was missed three times in a row, so it comes in depth.",
        "short": f"{title} had fewer right answers than expected, so it comes in depth.",
        "uncertain": f"{title} is not settled yet, so it comes in depth.",
        "back": f"{title} comes in depth: by how wide its range is, and how long it has waited.",
        "check": "",
    }[depth.reason]


def _describe_stay(depth: PlanLine) -> str:
    """Say how long the skill in depth goes on."""
    title = f"“{depth.standing.drill.title}”"
    if depth.day_number >= MOST_DAYS:
        return f"{title} for the last day, then another skill."
    return f"{title} is practised in depth for three to five days; this is day {depth.day_number}."


def _describe_reason(line: PlanLine) -> str:
    """Say in a few words why a line is there."""
    if line.done:
        return "practised today"
    since = _describe_days(line.days_since)
    estimate = line.standing.track.estimate()
    moving = FORMS[line.standing.drill.form].placement == "threshold" and estimate.edge is None and not estimate.settled
    if line.reason == "new" and estimate.trials:
        return "a skill you know, asked in a new way" if line.days_since is None else "begun, not yet settled"
    return {
        "stays": STILL_FINDING if moving else f"last practised {since}",
        "new": "new to you",
        "new_here": "new on this set-up, with this music",
        "sheet": line.words,
        "lost": f"three misses in a row {since}",
        "short": "fewer right than expected, of the last ten",
        "uncertain": f"{STILL_FINDING} · {since}",
        "back": f"last practised {since}",
        "check": f"asked once, for “{line.words}”",
    }[line.reason]


def _describe_left_out(left_out: LeftOut) -> str:
    """Say what is left out, and why."""
    words = count_words(left_out.count).capitalize()
    drills = f"{words} drill{'s are' if left_out.count != 1 else ' is'} left out"
    return {
        "low": f"{drills}: this set-up does not play the lowest bass.",
        "top": f"{drills}: this set-up does not play the highest top.",
        "parts": f"{drills}: your own mix has no separate parts.",
        "reference": f"{drills}: no reference song comes with your own mix.",
    }[left_out.cause]


def _count_minutes(seconds: float) -> int:
    return max(1, round(seconds / 60))


def _describe_days(days: int | None) -> str:
    if days is None:
        return "never"
    return "today" if days <= 0 else "yesterday" if days == 1 else f"{days} days ago"
