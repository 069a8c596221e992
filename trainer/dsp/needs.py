"""What several families ask of a stretch, in one wording."""

from __future__ import annotations

from trainer.dsp.move import Need
from trainer.measure.contents import StretchContents
from trainer.units import write_number

# What is done to peaks is heard in the loudest parts of a song: common practice, no source.
LOUDEST_WITHIN_DB = 2.5


def need_loud_part(contents: StretchContents, within_db: float = LOUDEST_WITHIN_DB, digits: int = 1) -> Need:
    """Ask for a part that is at most so far below the song's loudest."""
    expected = f"{write_number(-within_db, digits)} or more against the loudest part"
    return Need("loudness_under_loudest_db", contents.under_loudest_db, -within_db, expected)
