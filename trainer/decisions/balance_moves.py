"""What a comparison with references asks for: a few broad moves of about 1 dB, or a word back to the mix."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from trainer.decisions.balance import BalanceRow, Comparison
from trainer.decisions.balance_words import (
    word_cancelled,
    word_few_references,
    word_lean,
    word_move,
    word_region_back,
    word_resonance,
)
from trainer.decisions.sheet import Candidate
from trainer.dsp.equaliser.filter_move import FilterMove
from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES

# All of it common practice, no source: within about 2 dB songs differ by themselves; a move is about 1 dB, and at
# most three are weighed; what is out by more than 3 dB, and by more than a move beyond every reference, is the mix's.
SPREAD_DB, LEAST_OUTSIDE_DB, MOVE_DB, MOST_MOVES, BACK_DB = 2.0, 0.5, 1.0, 3, 3.0
# Fewer references than this are a taste and no range: one move is enough for that.
RANGE_FROM = 3
# A move of which another one leaves less than this where it is meant to act, or less of it than this share, is none.
LEAST_LEFT_DB, LEAST_LEFT_SHARE, POINTS_AN_OCTAVE = 0.5, 0.75, 12
# A lean is one line through all bands: it has to explain this much of them, and to come to this at either end.
LEAN_SHARE, LEAN_END_DB, LEAN_PIVOT_HZ = 0.8, 1.0, 1000.0
# A third octave that stands so far out of the two on either side of it is a ring and no balance; below 125 Hz it is
# the key of the song. Without references a louder note has to be told from it, so more is asked.
RING_DB, RING_ALONE_DB, RING_FROM_HZ, RING_TO_HZ = 5.0, 8.0, 125.0, 12500.0
WIDEST_Q, NARROWEST_Q = 0.5, 1.0
# Bounds of the shelves' corners.
HIGHEST_LOW_CORNER_HZ, LOWEST_HIGH_CORNER_HZ = 1000.0, 1000.0


@dataclass(frozen=True)
class Ring:
    """Name a third octave that stands out: centre, and by how much over those beside it, dB."""

    centre_hz: float
    over_db: float


@dataclass(frozen=True)
class Region:
    """Join neighbouring bands in which the mix lies outside the references on one side.

    Parameters
    ----------
    first, last : int
        Places among the bands, both included.
    from_middle_db, outside_db : float
        Of the band that is furthest off: against the middle of the references, and beyond all of them.
    """

    first: int
    last: int
    from_middle_db: float
    outside_db: float

    @property
    def for_the_mix(self) -> bool:
        """Whether no move of a master should bring it back."""
        return abs(self.from_middle_db) > BACK_DB and abs(self.outside_db) > MOVE_DB


@dataclass(frozen=True)
class BalanceProposals:
    """Hold what may be weighed, and what is sent back to the mix, a sentence each.

    Parameters
    ----------
    candidates : tuple of Candidate
        None to three, the furthest off first; nothing has been measured of them yet.
    back_to_mix : tuple of str
        Sentences.
    note : str
        Why there are no moves, or fewer than there are differences; empty otherwise.
    """

    candidates: tuple[Candidate, ...]
    back_to_mix: tuple[str, ...]
    note: str = ""


def propose_balance(comparison: Comparison) -> BalanceProposals:
    """Propose at most three broad moves towards the references, or leave it.

    Parameters
    ----------
    comparison : Comparison
        Without references nothing is proposed, and only rings are told.

    Returns
    -------
    BalanceProposals
    """
    rings = find_rings(comparison)
    back = [word_resonance(ring.centre_hz, ring.over_db, bool(comparison.references)) for ring in rings]
    if not comparison.references:
        return BalanceProposals((), tuple(back), "Without references there is nothing to lean on; listen to the bands.")
    rows = comparison.list_rows("band")
    regions = find_regions(rows, rings)
    lean = _find_lean(rows)
    if lean is not None and regions and not any(region.for_the_mix for region in regions):
        return BalanceProposals((_make_tilt(rows, lean, len(comparison.references)),), tuple(back))
    back += [
        word_region_back(_edges(rows, region), region.from_middle_db, len(comparison.references))
        for region in regions
        if region.for_the_mix
    ]
    count = len(comparison.references)
    wished = sorted((r for r in regions if not r.for_the_mix), key=lambda region: -abs(region.from_middle_db))
    moves, note = _choose_moves([(_make_move(rows, region, count), _edges(rows, region)) for region in wished], count)
    if not moves and not back:
        note = "The mix lies among the references, or as near as songs differ by: leave it."
    return BalanceProposals(moves, tuple(back), note)


def find_left_db(candidates: Sequence[Candidate], band_hz: tuple[float, float]) -> float:
    """Give what is left of some moves together in a band: the mean of their gains over its octaves, dB.

    Parameters
    ----------
    candidates : sequence of Candidate
        Filters; their analogue curves are summed.
    band_hz : (float, float)
        Lowest and highest frequency.
    """
    octaves = math.log2(band_hz[1] / band_hz[0])
    frequencies_hz = np.geomspace(*band_hz, max(2, round(POINTS_AN_OCTAVE * octaves) + 1))
    gains_db = np.zeros(frequencies_hz.size)
    for candidate in candidates:
        move = MOVES[candidate.move]
        assert isinstance(move, FilterMove)
        gains_db += 20 * np.log10(np.abs(move.give_gain(frequencies_hz, candidate.settings)))
    return float(scipy.integrate.trapezoid(gains_db, np.log2(frequencies_hz)) / octaves)


def _choose_moves(
    wished: Sequence[tuple[Candidate, tuple[float, float]]], count: int
) -> tuple[tuple[Candidate, ...], str]:
    """Take moves, the furthest off first, that leave each other something; with why others are not among them."""
    taken: list[tuple[Candidate, tuple[float, float]]] = []
    cancelled: list[tuple[float, float]] = []
    for candidate, band_hz in wished:
        together = [*taken, (candidate, band_hz)]
        if all(_is_left(move, band, [each for each, _ in together]) for move, band in together):
            taken = together
        else:
            cancelled.append(band_hz)
    most = MOST_MOVES if count >= RANGE_FROM else 1
    notes = [word_cancelled(cancelled)] if cancelled else []
    notes += [word_few_references(count)] if len(taken) > most else []
    return tuple(move for move, _ in taken[:most]), " ".join(notes)


def _is_left(move: Candidate, band_hz: tuple[float, float], moves: Sequence[Candidate]) -> bool:
    """Tell whether enough of a move is left among others."""
    alone_db, sign = find_left_db((move,), band_hz), math.copysign(1.0, move.amount)
    least_db = max(LEAST_LEFT_DB, LEAST_LEFT_SHARE * abs(alone_db))
    return find_left_db(moves, band_hz) * sign >= min(least_db, abs(alone_db))


def find_regions(rows: Sequence[BalanceRow], rings: Sequence[Ring] = ()) -> tuple[Region, ...]:
    """Find where the mix lies beyond all references and more than the usual spread from their middle.

    Parameters
    ----------
    rows : sequence of BalanceRow
        The bands, lowest first.
    rings : sequence of Ring
        A band that holds one of these is no matter of balance.

    Returns
    -------
    tuple of Region
        Lowest first.
    """
    regions: list[Region] = []
    for place, row in enumerate(rows):
        low, high = row.band_hz or (0.0, 0.0)
        ringing = any(low <= ring.centre_hz < high for ring in rings)
        value = row.mix_db
        if value is None or ringing or abs(row.outside_db) < LEAST_OUTSIDE_DB or abs(value) <= SPREAD_DB:
            continue
        last = regions[-1] if regions else None
        if last is not None and last.last == place - 1 and last.from_middle_db * value > 0:
            further = abs(value) > abs(last.from_middle_db)
            worst = (value, row.outside_db) if further else (last.from_middle_db, last.outside_db)
            regions[-1] = Region(last.first, place, *worst)
        else:
            regions.append(Region(place, place, value, row.outside_db))
    return tuple(regions)


def find_rings(comparison: Comparison) -> tuple[Ring, ...]:
    """Find third octaves that stand out of the two on either side, in the mix and against the references."""
    alone = [level for _, level in comparison.mix.thirds_db]
    against = [row.mix_db for row in comparison.thirds] if comparison.references else alone
    least = RING_DB if comparison.references else RING_ALONE_DB
    found = []
    for place, (centre, _) in enumerate(comparison.mix.thirds_db):
        over = min(_stand_out(alone, place), _stand_out(against, place))
        if RING_FROM_HZ <= centre <= RING_TO_HZ and over >= least:
            found.append(Ring(centre, over))
    return tuple(found)


def _stand_out(levels: Sequence[float | None], place: int) -> float:
    """Give the level of a third octave over the median of the two on either side; 0 where one is missing."""
    around = [levels[other] for other in (place - 2, place - 1, place + 1, place + 2) if 0 <= other < len(levels)]
    beside = [value for value in around if value is not None]
    own = levels[place]
    return own - float(np.median(beside)) if own is not None and len(beside) == 4 else 0.0


def _find_lean(rows: Sequence[BalanceRow]) -> float | None:
    """Give what a line through all bands rises by from 20 Hz to 20 kHz, dB, where they do lie on a line."""
    known = [(row.band_hz, row.mix_db) for row in rows if row.band_hz is not None and row.mix_db is not None]
    if len(known) < len(rows):
        return None
    octaves = [math.log2(math.sqrt(low * high)) for (low, high), _ in known]
    values = [value for _, value in known]
    line = scipy.stats.linregress(octaves, values)
    fits = line.rvalue**2 >= LEAN_SHARE and min(abs(values[0]), abs(values[-1])) >= LEAN_END_DB
    return float(line.slope) * math.log2(1000) if fits and values[0] * values[-1] < 0 else None


def _make_tilt(rows: Sequence[BalanceRow], lean_db: float, count: int) -> Candidate:
    """Lean the other way by 1 dB at either end."""
    tilt_db = -math.copysign(2 * MOVE_DB, lean_db)
    ends = (rows[0].mix_db or 0.0, rows[-1].mix_db or 0.0)
    settings = {"pivot_hz": LEAN_PIVOT_HZ, "tilt_db": tilt_db}
    return _make_candidate("tilt", "tilt", tilt_db, settings, word_lean(*ends, count))


def _make_move(rows: Sequence[BalanceRow], region: Region, count: int) -> Candidate:
    """Make a shelf where all beyond the region leans the same way, else a bell."""
    low_hz, high_hz = _edges(rows, region)
    gain_db = -math.copysign(MOVE_DB, region.from_middle_db)
    reason = word_move((low_hz, high_hz), region.from_middle_db, region.outside_db, count)
    sign = math.copysign(1.0, region.from_middle_db)
    below = all((row.mix_db or 0.0) * sign > 0 for row in rows[: region.first])
    above = all((row.mix_db or 0.0) * sign > 0 for row in rows[region.last + 1 :])
    if below and region.first <= 1:
        corner = min(high_hz, HIGHEST_LOW_CORNER_HZ)
        settings = {"corner_hz": corner, "gain_db": gain_db}
        return _make_candidate(f"low_shelf_{corner:.0f}", "low_shelf", gain_db, settings, reason)
    if above and region.last >= len(rows) - 2:
        corner = max(low_hz, LOWEST_HIGH_CORNER_HZ)
        settings = {"corner_hz": corner, "gain_db": gain_db}
        return _make_candidate(f"high_shelf_{corner:.0f}", "high_shelf", gain_db, settings, reason)
    centre = math.sqrt(low_hz * high_hz)
    # Half of the gain at the edges of the region, but never narrower than broad moves are.
    q = math.sqrt(low_hz * high_hz) / (high_hz - low_hz)
    settings = {"centre_hz": centre, "centre_gain_db": gain_db, "bell_q": min(max(q, WIDEST_Q), NARROWEST_Q)}
    return _make_candidate(f"bell_{centre:.0f}", "bell", gain_db, settings, reason)


def _make_candidate(name: str, move: str, amount: float, settings: dict[str, float], reason: str) -> Candidate:
    complete = complete_settings(MOVES[move], settings)
    return Candidate(name, "balance", "taste", move, amount, MOVES[move].unit, complete, reason=reason)


def _edges(rows: Sequence[BalanceRow], region: Region) -> tuple[float, float]:
    """Give the lowest and the highest frequency of a region."""
    first, last = rows[region.first].band_hz, rows[region.last].band_hz
    assert first is not None and last is not None
    return first[0], last[1]
