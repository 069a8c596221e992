"""Where a weighing stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from trainer.decisions.beam import OnBeam
    from trainer.decisions.rounds import Round
    from trainer.ports import Stage

Page = Literal["files", "working", "beam", "verdict", "names", "differences"]


@dataclass(frozen=True)
class WeighState:
    """Hold a weighing; changed by replacement.

    Parameters
    ----------
    page : str
        What is shown.
    files : tuple of str
        Paths of the bounces, in the order in which they were named.
    stage : Stage or None
        How far the work is.
    beam : OnBeam or None
        What can be heard.
    judged : Round or None
        The last round of these bounces that was complete.
    back : str
        The page that what is looked at goes back to.
    version : int
        What is heard, from 1; 0 is the difference.
    pair : tuple of int
        Whose difference is heard where the names are shown, on the beam's order.
    change_db : float
        Level of that difference against the song.
    written : str
        Where the matched copies were written; empty before.
    """

    page: Page = "files"
    files: tuple[str, ...] = ()
    stage: Stage | None = None
    beam: OnBeam | None = None
    judged: Round | None = None
    back: Page = "beam"
    version: int = 1
    pair: tuple[int, int] = (0, 1)
    change_db: float = 0.0
    written: str = ""
