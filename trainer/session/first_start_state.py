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
    level : int
        Which level of the noise is heard, from 0, the quietest.
    side : int
        Which of the sides is heard, from 1.
    again : bool
        Whether it was gone to from Setup, and goes back there.
    """

    step: Step = "level"
    level: int = 0
    side: int = 3
    again: bool = False
