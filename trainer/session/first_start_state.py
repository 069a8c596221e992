"""Where a first start stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Step = Literal["level", "sides", "setup", "volume", "drill"]


@dataclass(frozen=True)
class FirstStart:
    """Hold the steps between the cautions and the first drill; changed by replacement.

    Parameters
    ----------
    step : str
        Which one is open.
    side : int
        Which of the sides is heard, from 1.
    again : bool
        Whether it was gone to from Setup, and goes back there.
    heard : bool
        Whether music has sounded at the step that is open.
    missing : bool
        Whether there is no music to be had.
    """

    step: Step = "level"
    side: int = 3
    again: bool = False
    heard: bool = False
    missing: bool = False
