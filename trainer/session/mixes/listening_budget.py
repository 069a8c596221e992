"""How much of a sitting's blind listening is used, in words; and whether one more round is proposed for today."""

from __future__ import annotations

from datetime import datetime

from trainer.decisions.listening_budget import MOST_MINUTES, count_picks, estimate_minutes, fits_in
from trainer.decisions.rounds import Kind, count_asked
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


def fits_today(sheet: Sheet, kind: Kind, versions: int, now: datetime) -> bool:
    """Tell whether a round, asked to its end, still fits into today's blind listening to this song."""
    return fits_in(count_picks(sheet, now.toordinal()), count_asked(kind, versions))
