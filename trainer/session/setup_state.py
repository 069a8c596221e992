"""Where a person is in what can be set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

SMALLEST_TEXT, LARGEST_TEXT = 80, 250
"""Size of text, %."""

Page = Literal["all", "sound", "setups", "note", "look", "answers", "history", "hearing"]
Carry = Literal["export", "merge"]


@dataclass(frozen=True)
class SetupState:
    """Hold what is set; changed by replacement.

    Parameters
    ----------
    page : str
        What is shown.
    chosen : int
        The line that is chosen, from 0.
    outputs : tuple of str
        What is known of every kind of sound output, a line each.
    gaps : int or None
        Gaps in the test tone so far; None while it was not played.
    carry : str
        Whether a typed path is written to or read from.
    said : str
        What came of the last thing that was done.
    """

    page: Page = "all"
    chosen: int = 0
    outputs: tuple[str, ...] = ()
    gaps: int | None = None
    carry: Carry = "export"
    said: str = ""
