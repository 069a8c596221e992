"""Rounds in sentences: counts, odds, what they mean, and how far they are confirmed."""

from __future__ import annotations

from trainer.decisions.round_verdicts import Confirmation, judge_apart, judge_order, judge_preference
from trainer.decisions.rounds import PICKS_APART, Round
from trainer.listening.preference import PICKS, PICKS_NEEDED
from trainer.units import write_probability

COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")


def head_round(held: Round) -> str:
    """Say in one line what a complete round tells."""
    if held.kind == "apart":
        return "Told apart." if judge_apart(held).apart else "Not told apart."
    if held.kind == "prefer":
        favourite = judge_preference(held).favourite
        return "No clear favourite." if favourite is None else f"A favourite: {held.names[favourite]}."
    if held.kind == "leaders":
        return "The four that lead have met once more."
    found = judge_order((held,))
    first, second = (held.names[place] for place in found.leaders)
    if found.repeats.separates is False:
        return f"No sure order; {first} and {second} go on."
    return f"{first} and {second} lead."


def describe_round(held: Round) -> tuple[str, ...]:
    """Say what a complete round tells, with counts and odds."""
    if held.kind == "apart":
        return _describe_apart(held)
    if held.kind == "prefer":
        return _describe_preference(held)
    return _describe_order(held)


def describe_taken_back(held: Round) -> tuple[str, ...]:
    """Say how many answers were taken back before the next was given; nothing where none was."""
    count, what = len(held.taken_back), "answer" if held.kind == "apart" else "pick"
    if not count:
        return ()
    return (f"{_count(count).capitalize()} {what}{'s were' if count > 1 else ' was'} taken back.",)


def describe_confirmation(found: Confirmation, name: str) -> tuple[str, ...]:
    """Say how far a favourite is confirmed, and what is missing."""
    if not found.rounds:
        return ()
    times = "once" if found.rounds == 1 else f"in {_count(found.rounds)} rounds"
    days = "on one day" if found.days == 1 else f"on {_count(found.days)} days"
    where = f"on {' and '.join(found.setups)}"
    sections = ", on the first and the quiet stretch" if found.quiet_and_loud else ""
    first = f"{name} was preferred {times}, {days}, {where}{sections}."
    if found.against:
        rounds = "one round" if found.against == 1 else f"{_count(found.against)} rounds"
        return first, f"But {rounds} went the other way: that is not settled."
    missing = [
        words
        for words, there in (
            ("on another day", found.days > 1),
            ("on another set-up", len(found.setups) > 1),
            ("on both stretches", found.quiet_and_loud),
        )
        if not there
    ]
    return (first, f"Not yet asked, or not yet so: {', '.join(missing)}.") if missing else (first,)


def _describe_apart(held: Round) -> tuple[str, ...]:
    """Word a test of 16."""
    found = judge_apart(held)
    odds = write_probability(found.odds)
    first = f"{found.correct} of {found.asked} right. Guessing does as well or better with a probability of {odds}."
    if found.apart:
        return first, f"{found.needed} are enough: on this set-up you can tell the two apart."
    second = f"That does not show that you can tell them apart: it takes {found.needed} of {PICKS_APART}."
    stopped = (_word_stop(held, f"{found.needed} could no longer be reached"),) if held.stopped else ()
    return first, second, *stopped, "It does not show that nobody can."


def _describe_preference(held: Round) -> tuple[str, ...]:
    """Word a round of 12 picks."""
    found, (first, second) = judge_preference(held), held.pair
    even = found.counts[0] == found.counts[1]
    odds = f"A coin splits as unevenly, either way, with a probability of {write_probability(found.odds)}."
    lines = [f"Blind, at equal loudness, sides swapped{': an even split.' if even else f'. {odds}'}"]
    if found.favourite is None and held.stopped:
        lines.append(_word_stop(held, f"neither could reach the {PICKS_NEEDED} that make a favourite"))
    elif found.favourite is None:
        lines.append(f"A favourite takes {PICKS_NEEDED} of {PICKS}.")
    reached = 1 + held.asked[len(held.answers) - 1].stretch
    if reached > 1:
        sections = ("first", "second", "last") if len(held.stretches) > 2 else ("first", "quiet")
        halves = [
            f"{held.count_picks(first, place)} to {held.count_picks(second, place)} on the {name} stretch"
            for place, name in enumerate(sections[:reached])
        ]
        lines.append(f"{held.names[first]} against {held.names[second]}: {', '.join(halves)}.")
    return tuple(lines)


def _describe_order(held: Round) -> tuple[str, ...]:
    """Word a round of all pairs."""
    found = judge_order((held,))
    counts = "; ".join(
        f"{held.names[n]} {found.won[n]:g} of {found.met[n]:g}" for n in found.strengths.order if found.met[n]
    )
    return (f"Picked: {counts}.", found.repeats.words) if held.kind == "all" else (f"Picked: {counts}.",)


def _word_stop(held: Round, why: str) -> str:
    """Say why a round has fewer answers than questions."""
    return f"Stopped after {len(held.answers)} of {len(held.asked)}: {why}."


def _count(number: int) -> str:
    return COUNTS[number] if number < len(COUNTS) else str(number)
