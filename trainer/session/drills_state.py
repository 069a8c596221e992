"""Where a person is in the list of all drills."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class DrillsState:
    """Hold the place in the list; changed by replacement.

    Parameters
    ----------
    family : str
        The family that is open; empty for the list of families.
    chosen : str
        The line that is chosen: a family, or a drill by its name; empty for the first.
    """

    family: str = ""
    chosen: str = ""
