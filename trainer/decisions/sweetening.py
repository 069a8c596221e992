"""Sweetening: which moves are worth weighing on this song, with modest settings to begin with; mostly few."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from trainer.audio.clip import Clip
from trainer.decisions.balance import Comparison
from trainer.decisions.bounces import Stretch
from trainer.decisions.evidence import Evidence
from trainer.decisions.sheet import Candidate
from trainer.decisions.sweetening_bands import propose_band
from trainer.decisions.sweetening_colour import propose_saturation, propose_top_harmonics, propose_width
from trainer.decisions.sweetening_compression import propose_compression
from trainer.decisions.sweetening_ground import Ground, lay_ground
from trainer.errors import BadValue, NotReachable

MOST_CANDIDATES = 4
# In the order of how often they are worth it; common practice, no source.
PROPOSERS: dict[str, Callable[[Ground], Candidate]] = {
    "compressor": propose_compression,
    "saturation": propose_saturation,
    "width": propose_width,
    "top_harmonics": propose_top_harmonics,
    "multiband": propose_band,
}


@dataclass(frozen=True)
class LeftOut:
    """Say why a move is not proposed."""

    move: str
    reason: str


@dataclass(frozen=True)
class SweeteningProposals:
    """Hold up to four candidates, measured on the whole song, and why the others are left out."""

    candidates: tuple[Candidate, ...]
    left_out: tuple[LeftOut, ...]


def propose_sweetening(
    song: Clip,
    evidence: Evidence,
    loud: Stretch,
    kept: Sequence[Candidate] = (),
    comparison: Comparison | None = None,
    tell: Callable[[float], None] = lambda share: None,
) -> SweeteningProposals:
    """Propose moves that this song gives a reason for; each is an offer to the ear, and leaving it is the default.

    Parameters
    ----------
    song : Clip
        The mix.
    evidence : Evidence
        What was measured of it.
    loud : Stretch
        Its loudest stretch, on which amounts are asked.
    kept : sequence of Candidate
        Moves that are kept by now; settings are solved behind them.
    comparison : Comparison, optional
        The mix against references.
    tell : callable
        Is told how much of the work is done, 0 to 1.

    Returns
    -------
    SweeteningProposals

    Raises
    ------
    BadValue
        If the loudest stretch does not lie inside the song.
    """
    ground = lay_ground(song, evidence, loud, kept, comparison)
    found: list[Candidate] = []
    left: list[LeftOut] = []
    for number, (move, propose) in enumerate(PROPOSERS.items()):
        if len(found) == MOST_CANDIDATES:
            left.append(LeftOut(move, f"{MOST_CANDIDATES} candidates are enough for a sitting."))
            continue
        try:
            found.append(propose(ground))
        except (NotReachable, BadValue) as error:
            left.append(LeftOut(move, str(error)))
        tell((number + 1) / len(PROPOSERS))
    return SweeteningProposals(tuple(found), tuple(left))
