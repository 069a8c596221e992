"""A weighing in words."""

from __future__ import annotations

from trainer.decisions.beam import OnBeam
from trainer.decisions.bounces import Stretch
from trainer.decisions.round_verdicts import Next, confirm
from trainer.decisions.round_words import describe_confirmation, describe_round, describe_taken_back
from trainer.decisions.rounds import Round
from trainer.session.words import count_words
from trainer.units import write_number, write_spread, write_time

SECONDS_A_PICK = 12
TELL_APART = "Tell them apart instead: up to 16 times"
TELL_APART_SAID = "To tell them apart: one of the two plays again, as X, and you say which."


def describe_place(stretch: Stretch) -> str:
    """Name a stretch by its place in the song."""
    return f"{write_time(stretch.start_s)} to {write_time(stretch.end_s)}"


def describe_stretches(beam: OnBeam) -> str:
    """Say where the bounces are heard."""
    first = beam.stretches[0]
    length = f"{write_number(first.end_s - first.start_s)} s"
    quiet = f", and a quiet stretch, {describe_place(beam.stretches[1])}" if len(beam.stretches) > 1 else ""
    return f"{describe_place(first)} of {beam.names[0]}, {length}{quiet}."


def describe_balance(beam: OnBeam) -> str:
    """Say at what loudness all play."""
    word = "both" if len(beam.names) == 2 else "all"
    return f"{word} at {write_number(beam.loudness_lufs)} LUFS, within {write_spread(beam.spread_lu)}"


def describe_next(following: Next, versions: int, asked: int) -> tuple[str, str]:
    """Say what comes next and how long it takes, and word its button."""
    minutes = max(1, round(asked * SECONDS_A_PICK / 60))
    time = f"about {count_words(minutes)} minute{'s' if minutes > 1 else ''}"
    if following == "all":
        return (
            f"First every two of the {count_words(versions)}, in an order by lot, some of them twice: {asked} picks, "
            f"{time}. Then 12 picks between the two that lead.",
            f"Begin: {asked} picks",
        )
    if following == "leaders":
        return f"The four that lead meet once more, every two: {asked} picks, {time}.", f"Begin: {asked} picks"
    if following == "prefer":
        return (
            f"At most twelve picks between two, blind, sides by lot: {time}. Ten of them make a favourite.",
            "Begin: up to 12 picks",
        )
    if following == "apart":
        return (
            f"The picks did not settle it. Can you tell the two apart at all? One of them plays again as X, at most "
            f"sixteen times, and you say which it was: {time}. Only if you can, twelve picks more have a meaning.",
            "Begin: tell them apart, up to 16 times",
        )
    if following == "again":
        return (
            f"You can tell them apart, so at most twelve picks more: {time}. They are the last ones today.",
            "Begin: up to 12 picks",
        )
    return {
        "favourite": "There is a favourite for today. Ask again on another day, or on another set-up.",
        "not_apart": "You did not tell them apart, so a preference would be a lot. Take either; or ask another day.",
        "not_settled": "Two rounds did not settle it: neither wins today. Leaving it open is a result too.",
    }[following], ""


def describe_past(past: tuple[Round, ...], favourite: str, name: str) -> tuple[str, ...]:
    """Say what earlier rounds told of a favourite."""
    return describe_confirmation(confirm(past, favourite), name)


def describe_verdict(held: Round, past: tuple[Round, ...]) -> tuple[str, ...]:
    """Say what a complete round tells, and whether the names had been heard before it."""
    lines = (*describe_round(held), *describe_taken_back(held))
    sighted = [other for other in past if other.kind == "sighted" and other.begun_at < held.begun_at]
    if sighted:
        lines = (*lines, "Before this round you had heard them with their names shown; that is kept with it.")
    return lines
