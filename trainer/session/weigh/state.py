"""Where a weighing stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.decisions.beam import OnBeam
from trainer.decisions.rounds import Round
from trainer.ports import Stage

Page = Literal["files", "working", "beam", "question", "verdict", "names", "differences"]


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
    held : Round or None
        The round that is under way, or the last one that was complete.
    version : int
        What is heard, from 1; 0 is the difference.
    stretch : int
        Which stretch is in the player.
    pair : tuple of int
        Whose difference is heard where the names are shown, on the beam's order.
    asked_s : float
        When the question was put, on the monotonic clock.
    gaps : int
        Gaps in the sound since then.
    written : str
        Where the matched copies were written; empty before.
    """

    page: Page = "files"
    files: tuple[str, ...] = ()
    stage: Stage | None = None
    beam: OnBeam | None = None
    held: Round | None = None
    version: int = 1
    stretch: int = 0
    pair: tuple[int, int] = (0, 1)
    asked_s: float = 0.0
    gaps: int = 0
    written: str = ""
