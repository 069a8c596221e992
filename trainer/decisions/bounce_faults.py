"""Faults that only one of two bounces has."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.decisions.bounces import Bounce, Heard
from trainer.measure.faults.finding import Finding
from trainer.units import db_to_gain

STEADY = ("hum", "hiss", "dc", "head_noise", "abrupt_start", "abrupt_end")
SAME_PLACE_S = 0.05
# A scan that finds clicks from 8 dB on may miss a weaker one in the other file by a hair.
CLEAR_DB = {"click": 15.0}
# At these the two have to differ by half of the louder one within a hundredth of a second.
MOMENTS, MOMENT_S, LEAST_CHANGE = ("click", "pop"), 0.005, 0.5


@dataclass(frozen=True)
class FaultCount:
    """Sum up the faults of one kind that only one of two bounces has; places in s of its own file."""

    kind: str
    count: int
    first_s: float
    strongest: float
    unit: str


def compare_faults(
    first: Heard, second: Heard, start_s: float
) -> tuple[tuple[FaultCount, ...], tuple[FaultCount, ...]]:
    """Sum up the faults that one has and the other has not at the same place of the song."""
    faults = [one.bounce.evidence.scan.faults for one in (first, second)]
    places = [
        [_place(one.bounce, fault) for fault in found] for one, found in zip((first, second), faults, strict=True)
    ]

    def differs(place: tuple[str, float]) -> bool:
        return place[0] not in MOMENTS or _differ_at(first, second, place[1] - start_s)

    return _leave_out(faults[0], places[0], places[1], differs), _leave_out(faults[1], places[1], places[0], differs)


def _differ_at(first: Heard, second: Heard, at_s: float) -> bool:
    """Tell whether two bounces, equally loud, differ in what is quick at a moment; outside the common part they do.

    A scan may find a sharp hit in one that it passes over in the other by a hair: that is no difference.
    """
    rate_hz = first.common.rate_hz
    around, half = round(at_s * rate_hz), round(MOMENT_S * rate_hz)
    if not half + 2 <= around < first.common.frames - half - 2:
        return True
    quick = [
        np.diff(one.common.samples[around - half : around + half].astype(np.float64) * db_to_gain(gain_db), 2, axis=0)
        for one, gain_db in ((first, first.matched.gain_db), (second, second.matched.gain_db))
    ]
    highest = max(float(np.abs(wave).max()) for wave in quick)
    return float(np.abs(quick[1] - quick[0]).max()) > LEAST_CHANGE * highest


def _place(bounce: Bounce, fault: Finding) -> tuple[str, float]:
    """Kind and place of a fault in the first bounce's time; what is steady has none."""
    if fault.kind in STEADY:
        return fault.kind, 0.0
    place = bounce.alignment
    frame = fault.start_s * bounce.clip.rate_hz - place.offset_frames
    return fault.kind, frame / (1 + 1e-6 * place.drift_ppm) / bounce.clip.rate_hz


def _leave_out(
    faults: tuple[Finding, ...],
    places: list[tuple[str, float]],
    others: list[tuple[str, float]],
    differs: Callable[[tuple[str, float]], bool],
) -> tuple[FaultCount, ...]:
    """Leave out what the other bounce has too, and sum up the rest by kind."""
    known: dict[str, npt.NDArray[np.float64]] = {
        kind: np.array([at_s for name, at_s in others if name == kind]) for kind in {name for name, _ in others}
    }
    rest = [
        fault
        for fault, (kind, at_s) in zip(faults, places, strict=True)
        if fault.strength >= CLEAR_DB.get(kind, -math.inf)
        and (kind not in known or float(np.abs(known[kind] - at_s).min()) > SAME_PLACE_S)
        and differs((kind, at_s))
    ]
    return tuple(_count(kind, [fault for fault in rest if fault.kind == kind]) for kind in _kinds(rest))


def _kinds(faults: Iterable[Finding]) -> list[str]:
    return sorted({fault.kind for fault in faults})


def _count(kind: str, faults: list[Finding]) -> FaultCount:
    strongest = max(faults, key=lambda fault: fault.strength)
    return FaultCount(kind, len(faults), min(fault.start_s for fault in faults), strongest.strength, strongest.unit)
