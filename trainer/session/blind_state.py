"""Where a blind round stands, and what it is heard on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.decisions.rounds import Asked, Round

Sounds = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Heard:
    """Hold what a round is heard on.

    Parameters
    ----------
    title : str
        Of the screen.
    sounds : tuple of ndarray of float32, shape (versions, frames, 2)
        For each of the round's stretches all versions in the round's order, equally loud.
    rate_hz : int
        Of the sounds.
    outlines : tuple of tuple of float
        For each stretch peaks of 0–1 that tell nothing of any one version.
    places : tuple of (str, str)
        For each stretch its beginning and end in words.
    captions : tuple of str
        For each stretch its name.
    balance : str
        At what loudness all play.
    """

    title: str
    sounds: tuple[Sounds, ...]
    rate_hz: int
    outlines: tuple[tuple[float, ...], ...]
    places: tuple[tuple[str, str], ...]
    captions: tuple[str, ...]
    balance: str


@dataclass(frozen=True)
class Blind:
    """Hold a round under way; changed by replacement.

    Parameters
    ----------
    held : Round
        With the answers so far.
    heard : Heard
        What it is heard on.
    version : int
        What is heard, from 1.
    stretch : int
        Which stretch is in the player; −1 for none.
    asked_s : float
        When the question was put, on the monotonic clock.
    gaps : int
        Gaps in the sound since then.
    met : tuple of int
        Numbers that have been heard since then.
    mendable : bool
        Whether the last answer was given just now, and can be taken back.
    """

    held: Round
    heard: Heard
    version: int = 1
    stretch: int = -1
    asked_s: float = 0.0
    gaps: int = 0
    met: tuple[int, ...] = ()
    mendable: bool = False

    @property
    def asked(self) -> Asked:
        """The question that is open."""
        return self.held.asked[len(self.held.answers)]
