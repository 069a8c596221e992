"""Mark the moments at which something is heard in a pass from start to end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

# A mark counts within so long after what it belongs to, less the person's own delay: common practice, no source.
WINDOW_S = 1.5
EARLY_S = 0.2


@dataclass(frozen=True)
class Mark:
    """One mark: when, and what was heard; no word means any fault."""

    at_s: float
    kind: str = ""


@dataclass(frozen=True)
class Marks:
    """Judge the marks of one pass.

    Parameters
    ----------
    hits, misses, false_alarms : int
        Faults that were marked, faults that were not, marks that belong to none.
    d_prime : float
        Sensitivity over moments as long as the window, log-linear correction.
    lateness_s : float or None
        Mean time from a fault to its mark, less the person's delay; None without hits.
    found : tuple of bool
        For each fault.
    """

    hits: int
    misses: int
    false_alarms: int
    d_prime: float
    lateness_s: float | None
    found: tuple[bool, ...]


def judge_marks(marks: Sequence[Mark], faults: Sequence[Mark], length_s: float, delay_s: float = 0.0) -> Marks:
    """Give each fault the first free mark in its window, and count.

    Parameters
    ----------
    marks : sequence of Mark
        What the person marked, s from the start.
    faults : sequence of Mark
        What there was to find, s from the start.
    length_s : float
        Length of the pass, s.
    delay_s : float
        The person's own delay, s, as measured on plain sounds.

    Returns
    -------
    Marks

    Notes
    -----
    d' = z(hits) - z(false alarms) with half a count added to each and one to each total (M. J. Hautus, "Corrections
    for extreme proportions", Behav. Res. Methods 27, 1995; from memory).
    """
    free = sorted(marks, key=lambda mark: mark.at_s)
    found, late = [], []
    for fault in sorted(faults, key=lambda each: each.at_s):
        fitting = (m for m in free if _belongs(m, fault, delay_s))
        mark = next(fitting, None)
        found.append(mark is not None)
        if mark is not None:
            free.remove(mark)
            late.append(mark.at_s - delay_s - fault.at_s)
    hits, moments = sum(found), max(1.0, length_s / WINDOW_S - len(found))
    hit_rate = (hits + 0.5) / (len(found) + 1)
    alarm_rate = min((len(free) + 0.5) / (moments + 1), 1 - 0.5 / (moments + 1))
    d_prime = float(ndtri(hit_rate) - ndtri(alarm_rate))
    return Marks(hits, len(found) - hits, len(free), d_prime, float(np.mean(late)) if late else None, tuple(found))


def _belongs(mark: Mark, fault: Mark, delay_s: float) -> bool:
    """Tell whether a mark may belong to a fault: in time, and of its kind if it names one."""
    after_s = mark.at_s - delay_s - fault.at_s
    return -EARLY_S <= after_s <= WINDOW_S and mark.kind in ("", fault.kind)
