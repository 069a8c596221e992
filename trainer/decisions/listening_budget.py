"""How long blind listening takes: what a day's rounds of one song have used, and whether one more still fits."""

from __future__ import annotations

from trainer.decisions.rounds import LEADERS, Round, count_asked
from trainer.decisions.sheet import Sheet

# An answer takes about so long, both versions heard: common practice, no source.
SECONDS_A_PICK = 12
# A whole song is to be decided in about half an hour of blind listening; tired ears tell less.
MOST_MINUTES = 35
MOST_PICKS = MOST_MINUTES * 60 // SECONDS_A_PICK


def list_rounds(sheet: Sheet) -> tuple[Round, ...]:
    """List all rounds of a song: of its moves, of its loudness, and of the whole."""
    return (*(held for each in sheet.candidates for held in each.rounds), *sheet.loudness.rounds, *sheet.whole)


def count_picks(sheet: Sheet, day: int) -> int:
    """Count the blind answers that were given for a song on one day, on whatever set-up.

    Parameters
    ----------
    sheet : Sheet
        Of the song.
    day : int
        Ordinal of the local calendar day.

    Returns
    -------
    int
        Picks; a round that was left unfinished is not on the sheet and does not count.
    """
    return sum(len(held.answers) for held in list_rounds(sheet) if held.day == day)


def estimate_minutes(picks: int) -> float:
    """Estimate how long so many answers take, minutes."""
    return picks * SECONDS_A_PICK / 60


def count_sitting(versions: int) -> int:
    """Count the most answers that a comparison takes in one sitting: 12 picks, 16 times X, and 12 picks more.

    Parameters
    ----------
    versions : int
        How many are compared, 2 to 8; of three and more every two come first, of five and more the four that lead.

    Returns
    -------
    int
        Picks.
    """
    order = count_asked("all", versions) if versions > 2 else 0
    order += count_asked("leaders", versions) if versions > LEADERS else 0
    return order + 2 * count_asked("prefer", versions) + count_asked("apart", versions)


def fits_in(picks: int, questions: int) -> bool:
    """Tell whether a round of at most so many questions still fits into a day of so many picks.

    Parameters
    ----------
    picks : int
        Given so far, 0 or more.
    questions : int
        Of the round, 0 or more; see `rounds.count_asked`.

    Returns
    -------
    bool
        Whether both together stay within 35 minutes, at 12 s a pick.
    """
    return picks + questions <= MOST_PICKS
