"""How much of a day's blind listening to one song is used, in words, and what is still proposed for today.

A round that would bring the day over its minutes is not forbidden: it is offered beside the way to another day.
"""

from __future__ import annotations

import math
from datetime import datetime

from trainer.decisions.listening_budget import (
    MOST_MINUTES,
    MOST_PICKS,
    count_picks,
    count_sitting,
    estimate_minutes,
    fits_in,
)
from trainer.decisions.rounds import Kind, Round, count_asked
from trainer.decisions.sheet import Sheet
from trainer.session import intents
from trainer.session.view import Button
from trainer.units import write_number

ANOTHER_DAY = Button("Another day", intents.Do("later"), main=True)


def describe_listening(sheet: Sheet, now: datetime) -> str:
    """Say about how many minutes of blind listening this song had today, and when the rest had better wait."""
    minutes = estimate_minutes(count_picks(sheet, now.toordinal()))
    if not minutes:
        return f"Blind listening today: none of {MOST_MINUTES} minutes yet."
    about = write_number(max(1.0, minutes), 0)
    if minutes > MOST_MINUTES:
        return f"Blind listening today: about {about} minutes; {MOST_MINUTES} are enough."
    rest = "" if fits_today(sheet, "prefer", 2, now) else " Another day hears the rest better."
    return f"Blind listening today: about {about} of {MOST_MINUTES} minutes.{rest}"


def proposes_today(sheet: Sheet, kind: Kind, rounds: tuple[Round, ...], now: datetime, versions: int = 2) -> bool:
    """Tell whether a round is proposed for today: a comparison that is begun is to be heard out today too.

    Parameters
    ----------
    sheet : Sheet
        Of the song.
    kind : Kind
        Of the round that comes next.
    rounds : tuple of Round
        Those of this sitting on the same versions; before the first of them all that may follow must fit in.
    now : datetime
        Local time.
    versions : int
        How many are compared.
    """
    return fits_in(count_picks(sheet, now.toordinal()), _count_needed(kind, rounds, versions))


def tell_lack(sheet: Sheet, kind: Kind, rounds: tuple[Round, ...], now: datetime, versions: int = 2) -> tuple[str, ...]:
    """Say how long it takes and what is left of the day, where a round is not proposed for today; else nothing."""
    if proposes_today(sheet, kind, rounds, now, versions):
        return ()
    takes = math.ceil(estimate_minutes(_count_needed(kind, rounds, versions)))
    left = math.floor(estimate_minutes(max(0, MOST_PICKS - count_picks(sheet, now.toordinal()))))
    return (f"It takes up to {takes} minutes; today has {left or 'none'} left.",)


def _count_needed(kind: Kind, rounds: tuple[Round, ...], versions: int) -> int:
    """Count the picks that must fit in: of all that may follow before the first round, else of the next one."""
    return count_asked(kind, versions) if rounds or kind == "apart" else count_sitting(versions)


def count_fitting(sheet: Sheet, now: datetime) -> int:
    """Count how many more comparisons of two fit into today, however they go."""
    return max(0, MOST_PICKS - count_picks(sheet, now.toordinal())) // count_sitting(2)


def fits_today(sheet: Sheet, kind: Kind, versions: int, now: datetime) -> bool:
    """Tell whether a round, asked to its end, still fits into today's blind listening to this song."""
    return fits_in(count_picks(sheet, now.toordinal()), count_asked(kind, versions))


def offer_round(label: str, intent: intents.Intent, today: bool, main: bool = True) -> tuple[Button, ...]:
    """Offer a round: as the main button where it is proposed for today, else behind the way to another day."""
    asks = Button(label, intent, main=main and today)
    return (asks,) if today or not main else (ANOTHER_DAY, asks)
