"""Bands heard alone, in a mix and in its references: none is matched by itself, so that what differs is heard."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.loops import LONGEST_LOOP_S, SHORTEST_LOOP_S, outline_loop
from trainer.decisions.balance import BalanceRow
from trainer.decisions.bounces import STRETCH_S
from trainer.decisions.systems import limit_to_range
from trainer.dsp.matching import PEAK_MARGIN_DB, turn_loop
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_loop_true_peak
from trainer.units import write_frequency

# All parts of all songs are held at once, so that they are switched without a gap; so much sound in all.
MOST_SOUND_S = 400.0


@dataclass(frozen=True)
class Part:
    """Describe what is let through of a song.

    Parameters
    ----------
    part, title : str
        Its name, and its title for a person.
    low_hz, high_hz : float
        Band: 3 dB down there, 24 dB an octave beyond; 0 and infinity leave a side open.
    """

    part: str
    title: str
    low_hz: float = 0.0
    high_hz: float = math.inf

    @property
    def about(self) -> str:
        """Say what is heard; for a person."""
        low, high = write_frequency(self.low_hz), write_frequency(self.high_hz) if math.isfinite(self.high_hz) else ""
        if self.low_hz <= 0:
            return f"Only up to {high}, 24 dB an octave beyond." if high else "Everything."
        return f"Only {low} to {high}, 24 dB an octave beyond." if high else f"Only from {low}, 24 dB an octave below."


# The bands of a comparison, two by two where they are narrow; common practice, no source.
PARTS: dict[str, Part] = {
    each.part: each
    for each in (
        Part("everything", "Everything"),
        Part("bottom", "Bottom", high_hz=120.0),
        Part("low_mids", "Low mids", 120.0, 500.0),
        Part("mids", "Mids", 500.0, 2000.0),
        Part("presence", "Presence", 2000.0, 5000.0),
        Part("top", "Top", 5000.0),
    )
}
EVERYTHING = "everything"


@dataclass(frozen=True)
class PartsHeard:
    """Hold the parts of some songs.

    Parameters
    ----------
    sounds : ndarray of float32, shape (parts × songs, frames, 2)
        For each of `PARTS`, in their order, all songs in theirs.
    turned_db : float
        By what all of them were turned down alike so that none passes −1 dBTP, dB, 0 or less.
    true_peak_dbtp : float
        The highest of all, after that.
    """

    sounds: npt.NDArray[np.float32]
    turned_db: float
    true_peak_dbtp: float


def find_part(row: BalanceRow) -> str:
    """Name the part in which a row of a comparison is heard; density has none of its own."""
    if row.band_hz is None:
        return EVERYTHING
    middle = math.sqrt(row.band_hz[0] * row.band_hz[1])
    bands = (each for each in PARTS.values() if each.part != EVERYTHING)
    return next(each.part for each in bands if each.low_hz <= middle < each.high_hz)


def choose_length_s(songs: int) -> float:
    """Choose how long a stretch may be so that all parts of so many songs can be held: 8 s, less for many, s."""
    longest = math.floor(10 * MOST_SOUND_S / (len(PARTS) * max(1, songs))) / 10
    return min(STRETCH_S, LONGEST_LOOP_S, max(SHORTEST_LOOP_S, longest))


def make_part(loop: Clip, name: str) -> Clip:
    """Give a part of a loop, in steady state, at the loop's own gain; same length.

    Parameters
    ----------
    loop : Clip
        One round.
    name : str
        One of `PARTS`.
    """
    part = PARTS[name]
    return limit_to_range(loop, part.low_hz, part.high_hz)


def hear_parts(loops: Sequence[Clip], tell: Callable[[float], None] = lambda share: None) -> PartsHeard:
    """Make all parts of some songs; what differs in a part is what differs, as each keeps its song's gain.

    Parameters
    ----------
    loops : sequence of Clip
        Whole songs, equally loud, of one rate and length.
    tell : callable
        Takes how far it is, 0–1.

    Returns
    -------
    PartsHeard
    """
    made: list[Clip] = []
    highest = -math.inf
    for number, name in enumerate(PARTS):
        for loop in loops:
            part = make_part(loop, name)
            highest = max(highest, measure_loop_true_peak(part.samples, part.rate_hz).dbtp)
            made.append(part)
        tell((number + 1) / len(PARTS))
    turned_db = min(0.0, CEILING_DBTP - PEAK_MARGIN_DB - highest)
    sounds = np.empty((len(made), loops[0].frames, 2), dtype=np.float32)
    for place, part in enumerate(made):
        sounds[place] = turn_loop(part, turned_db).samples
    return PartsHeard(sounds, turned_db, highest + turned_db)


def outline_versions(versions: npt.NDArray[np.float32], columns: int) -> tuple[tuple[float, ...], ...]:
    """Give the outline of each version, for a page that shows what sounds.

    Parameters
    ----------
    versions : ndarray of shape (versions, frames, channels)
        As they are heard.
    columns : int
        Peaks of each outline, 1 or more.

    Returns
    -------
    tuple of tuple of float
        Peaks of 0–1 for each version, the highest of them 1.
    """
    return tuple(outline_loop(version, columns) for version in versions)
