"""How much of a day's blind listening to one song is used, in words, and what is still proposed for today.

A round that would bring the day over its minutes is not forbidden: it is offered beside the way back to the step.
"""

from __future__ import annotations

from datetime import datetime

from trainer.decisions.listening_budget import MOST_MINUTES, count_picks, estimate_minutes, fits_in
from trainer.decisions.rounds import Kind, Round, count_asked
from trainer.decisions.sheet import Sheet
from trainer.units import write_number


def describe_listening(sheet: Sheet, now: datetime) -> str:
    """Say about how many minutes of blind listening this song had today, and when the rest had better wait."""
    minutes = estimate_minutes(count_picks(sheet, now.toordinal()))
    if not minutes:
        return f"No blind listening to this song yet today; a song takes at most {MOST_MINUTES} minutes a day."
    about = write_number(max(1.0, minutes), 0)
    if minutes > MOST_MINUTES:
        return f"About {about} minutes of blind listening today. {MOST_MINUTES} are enough; the rest can wait."
    if not fits_today(sheet, "prefer", 2, now):
        return f"About {about} of {MOST_MINUTES} minutes of blind listening today: another day hears the rest better."
    return f"About {about} of {MOST_MINUTES} minutes of blind listening today."


def proposes_today(sheet: Sheet, kind: Kind, rounds: tuple[Round, ...], now: datetime) -> bool:
    """Tell whether a round on a move is proposed for today: one that is begun is to be heard out today too.

    Parameters
    ----------
    sheet : Sheet
        Of the song.
    kind : Kind
        Of the round that comes next.
    rounds : tuple of Round
        Those of this sitting on the move; before the first picks both rounds of picks and X must fit in.
    now : datetime
        Local time.
    """
    if kind == "prefer" and not rounds:
        return fits_in(count_picks(sheet, now.toordinal()), count_move())
    return fits_today(sheet, kind, 2, now)


def count_move() -> int:
    """Count the most answers that a move takes in one sitting: undecided, told apart, and asked again."""
    return 2 * count_asked("prefer", 2) + count_asked("apart", 2)


def fits_today(sheet: Sheet, kind: Kind, versions: int, now: datetime) -> bool:
    """Tell whether a round, asked to its end, still fits into today's blind listening to this song."""
    return fits_in(count_picks(sheet, now.toordinal()), count_asked(kind, versions))
