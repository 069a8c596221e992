"""What a move or a loudness measures on the whole song, in rows of words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from trainer.decisions.sheet import Rung
from trainer.decisions.sheet_words import name_figure
from trainer.exercise.quantities import QUANTITIES, describe_quantity
from trainer.units import write_number

# What says how a filter was read, and nothing that a person would set.
LEFT_OUT = ("worst_deviation_db", "level_change_db")
COSTS = (
    "reduction_on_hits_db", "hits_crest_lost_db", "snare_crest_lost_db", "short_term_dynamics_db", "added_db",
    "true_peak_dbtp",
)  # fmt: skip


def word_results(results: Mapping[str, float]) -> tuple[tuple[str, ...], ...]:
    """Word each quantity of a move and its value."""
    return tuple(_word(name, value) for name, value in results.items() if name not in LEFT_OUT)


def word_costs(rungs: Sequence[Rung], targets: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    """Word what each loudness costs, and how far it is turned down where it is aimed at: a row to a cost."""
    names = (*COSTS, *(f"turned_down_{target}_db" for target in targets))
    known = [name for name in names if any(name in rung.costs for rung in rungs)]
    rows = [(name, [_word(name, rung.costs.get(name, math.nan)) for rung in rungs]) for name in known]
    driven = ("gain into the limiter", *(f"{write_number(rung.drive_db, 1, True)} dB" for rung in rungs))
    return (driven, *((words[0][0], *(value for _, value in words)) for _, words in rows))


def _word(name: str, value: float) -> tuple[str, str]:
    if name in QUANTITIES and "_change_" not in name:
        return describe_quantity(name, value)
    words, unit = name_figure(name)
    return words, f"{write_number(value, 1, 'change' in name)} {unit}".rstrip()
