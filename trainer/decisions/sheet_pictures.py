"""What is drawn of a sheet: the curve of all kept filters, and what each loudness costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.decisions.candidate_words import title_candidate
from trainer.decisions.sheet import Rung, Sheet
from trainer.dsp.equaliser.filter_move import FilterMove
from trainer.dsp.move import Curve, complete_settings
from trainer.dsp.moves import MOVES

POINTS = 200
# Costs that may stand on one axis.
DRAWN_COSTS = ("reduction_on_hits_db", "snare_crest_lost_db", "hits_crest_lost_db")
LOWEST_HZ, HIGHEST_HZ = 20.0, 20000.0


@dataclass(frozen=True)
class EqualiserCurve:
    """Hold the analogue curves of the kept filters, Hz and dB: each by its title, and their sum."""

    each: tuple[tuple[str, Curve], ...]
    whole: Curve


@dataclass(frozen=True)
class RungCosts:
    """Hold the loudness of each rung, LUFS, its costs in dB by name, and which was chosen."""

    reached_lufs: tuple[float, ...]
    costs_db: tuple[tuple[str, tuple[float, ...]], ...]
    chosen: int | None


def gather_equaliser_curve(sheet: Sheet) -> EqualiserCurve | None:
    """Gather the curves of all kept filters; None where none is kept."""
    frequencies = np.geomspace(LOWEST_HZ, HIGHEST_HZ, POINTS)
    each, total = [], np.zeros(POINTS)
    for candidate in sheet.list_kept():
        move = MOVES[candidate.move]
        if isinstance(move, FilterMove):
            gains = 20 * np.log10(move.give_gain(frequencies, complete_settings(move, candidate.settings)))
            each.append((title_candidate(candidate), tuple(zip(frequencies.tolist(), gains.tolist(), strict=True))))
            total += gains
    whole = tuple(zip(frequencies.tolist(), total.tolist(), strict=True))
    return EqualiserCurve(tuple(each), whole) if each else None


def gather_rung_costs(sheet: Sheet) -> RungCosts | None:
    """Gather the costs to be drawn that every rung was measured for; None with fewer than two rungs, or without."""
    rungs = sheet.loudness.rungs
    order = sorted(range(len(rungs)), key=lambda place: rungs[place].reached_lufs)
    shared = [name for name in DRAWN_COSTS if all(name in rung.costs for rung in rungs)]
    if len(rungs) < 2 or not shared:
        return None
    held: list[Rung] = [rungs[place] for place in order]
    costs = tuple((name, tuple(rung.costs[name] for rung in held)) for name in shared)
    chosen = None if sheet.loudness.chosen is None else order.index(sheet.loudness.chosen)
    return RungCosts(tuple(rung.reached_lufs for rung in held), costs, chosen)
