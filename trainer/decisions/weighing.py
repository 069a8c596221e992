"""Bounces on the beam: one stretch of all, equally loud, and what differs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from trainer.audio.clip import Clip
from trainer.audio.loops import SHORTEST_LOOP_S
from trainer.decisions.bounce_differences import Difference, compare_all
from trainer.decisions.bounce_faults import FaultCount
from trainer.decisions.bounces import (
    FEWEST,
    GRID_S,
    LONGEST_STRETCH_S,
    STRETCH_S,
    Bounce,
    Heard,
    Stretch,
    cut_common,
    cut_loops,
    keep_common,
    propose_stretches,
)
from trainer.decisions.weighing_words import word_bounce, word_difference
from trainer.dsp.matching import MatchedLoop, match_loops, spread_lu
from trainer.errors import BadValue
from trainer.measure.loudness import measure_loop_lufs
from trainer.units import write_number


@dataclass(frozen=True)
class StretchWish:
    """Say which stretch is wished, s in the first bounce's time; None where it may be any.

    Parameters
    ----------
    start_s : float or None
        Where it begins, 0 or more; the loudest place if None.
    length_s : float or None
        Its length, 4 to 60 s, kept to whole tenths of a second, on which every meter agrees; 8 s if None.

    Raises
    ------
    BadValue
        If one of them is out of bounds.
    """

    start_s: float | None = None
    length_s: float | None = None

    def __post_init__(self) -> None:
        if self.start_s is not None and not (math.isfinite(self.start_s) and self.start_s >= 0):
            raise BadValue("weigh", "--start", self.start_s, "0 s or more")
        if self.length_s is not None and not SHORTEST_LOOP_S <= self.length_s <= LONGEST_STRETCH_S:
            raise BadValue("weigh", "--length", self.length_s, f"{SHORTEST_LOOP_S:g} to {LONGEST_STRETCH_S:g} s")

    @property
    def length_in_grid_s(self) -> float | None:
        """Length in whole tenths of a second."""
        return None if self.length_s is None else round(round(self.length_s / GRID_S) * GRID_S, 6)


@dataclass(frozen=True)
class Weighing:
    """Hold bounces that can be heard against each other.

    Parameters
    ----------
    bounces : tuple of Bounce
        In step with the first.
    stretch : Stretch
        What is played.
    proposals : dict of str to Stretch
        Other stretches of this length: ``loudest``, ``quiet``.
    matched : tuple of MatchedLoop
        The stretch of each, as it is played: equally loud within 0.01 LU, under −1 dBTP.
    differences : tuple of Difference
        Of every two.
    """

    bounces: tuple[Bounce, ...]
    stretch: Stretch
    proposals: dict[str, Stretch]
    matched: tuple[MatchedLoop, ...]
    differences: tuple[Difference, ...]

    @property
    def spread_lu(self) -> float:
        """Difference between the loudest and the softest, LU."""
        return spread_lu(self.matched)


def weigh_bounces(bounces: tuple[Bounce, ...], wish: StretchWish) -> tuple[Weighing | None, tuple[BadValue, ...]]:
    """Match one stretch of all bounces in loudness, and measure what differs.

    Parameters
    ----------
    bounces : tuple of Bounce
        In step with the first of them, as `align_bounces` gives them.
    wish : StretchWish
        Which stretch.

    Returns
    -------
    tuple
        The weighing, or None where fewer than two bounces are left; a line for each that was left out.
    """
    asked = _place(bounces[0], wish)
    kept, refused = keep_common(bounces, asked, wish.length_in_grid_s or SHORTEST_LOOP_S)
    proposals: dict[str, Stretch] = {}
    if len(kept) >= FEWEST:
        proposals = propose_stretches(kept, None if asked is None else asked.end_s - asked.start_s)
        proposals = proposals or propose_stretches(kept, wish.length_in_grid_s)
        asked = asked or proposals.get("loudest")
    if len(kept) < FEWEST or asked is None:
        return None, refused or (BadValue("weigh", "stretch", "silence", "sound that all files have in common"),)
    loops = cut_loops(kept, asked)
    heard = [not _is_silent(loop) for loop in loops]
    refused += tuple(_refuse_silent(one, asked) for one, sounds in zip(kept, heard, strict=True) if not sounds)
    kept = tuple(one for one, sounds in zip(kept, heard, strict=True) if sounds)
    if len(kept) < FEWEST:
        return None, refused
    matched = match_loops(tuple(loop for loop, sounds in zip(loops, heard, strict=True) if sounds))
    parts = zip(kept, cut_common(kept), matched, strict=True)
    differences = compare_all(tuple(Heard(*part) for part in parts))
    return Weighing(kept, asked, proposals, matched, differences), refused


def match_stretch(bounces: tuple[Bounce, ...], stretch: Stretch) -> tuple[MatchedLoop, ...] | None:
    """Match one more stretch of bounces that are on the beam; None where one of them is silent there."""
    loops = cut_loops(bounces, stretch)
    return None if any(_is_silent(loop) for loop in loops) else match_loops(loops)


def list_weighing(weighing: Weighing) -> dict[str, Any]:
    """List a weighing as plain facts."""
    bounces = weighing.bounces
    return {
        "sample_rate_hz": bounces[0].clip.rate_hz,
        "files": [
            _list_bounce(bounce, matched) | {"sentences": word_bounce(bounce, bounces[0], matched)}
            for bounce, matched in zip(bounces, weighing.matched, strict=True)
        ],
        "stretch": _list_stretch(weighing.stretch),
        "proposals": {name: _list_stretch(stretch) for name, stretch in weighing.proposals.items()},
        "spread_lu": round(weighing.spread_lu, 4),
        "differences": [
            _list_difference(found, bounces)
            | {"sentences": word_difference(found, bounces[found.a].name, bounces[found.b].name)}
            for found in weighing.differences
        ],
    }


def _place(first: Bounce, wish: StretchWish) -> Stretch | None:
    """Place the stretch where its start is wished; as long as wished, or 8 s, or what is left of the first."""
    if wish.start_s is None:
        return None
    left = math.floor((first.clip.duration_s - wish.start_s) / GRID_S + 1e-6) * GRID_S
    length = wish.length_in_grid_s or max(SHORTEST_LOOP_S, min(STRETCH_S, left))
    return Stretch(wish.start_s, round(wish.start_s + length, 6))


def _is_silent(loop: Clip) -> bool:
    return not math.isfinite(measure_loop_lufs(loop.samples, loop.rate_hz))


def _refuse_silent(bounce: Bounce, stretch: Stretch) -> BadValue:
    """Say that a bounce is silent where it is to be heard."""
    span = f"{write_number(stretch.start_s, 2)} and {write_number(stretch.end_s, 2)} s"
    return BadValue(bounce.name, "loudness_lufs", "−∞", f"sound above −70 LUFS between {span} of the first file")


def _list_stretch(stretch: Stretch) -> dict[str, float]:
    return {"start_s": round(stretch.start_s, 4), "end_s": round(stretch.end_s, 4)}


def _list_bounce(bounce: Bounce, matched: MatchedLoop) -> dict[str, Any]:
    """List one bounce: how it lies, what it measures as a file, and what was done to hear it."""
    place, programme = bounce.alignment, bounce.evidence.programme
    return {
        "file": bounce.evidence.form.file,
        "offset_samples": round(place.offset_frames, 3) + 0.0,
        "polarity": place.polarity,
        "swapped": place.swapped,
        "turned_side": place.turned_side or None,
        "drift_ppm": round(place.drift_ppm, 2) + 0.0,
        "odd_places_s": [round(frame / bounce.clip.rate_hz, 2) for frame in place.odd_frames],
        "rate_converted": bounce.rate_converted,
        "correlation": round(place.correlation, 4),
        "integrated_lufs": _round(programme.loudness.integrated_lufs),
        "true_peak_dbtp": _round(programme.peaks.true_peak_dbtp),
        "gain_db": round(matched.gain_db, 4),
        "matched_lufs": round(matched.loudness_lufs, 4),
        "matched_true_peak_dbtp": round(matched.true_peak_dbtp, 3),
    }


def _list_difference(found: Difference, bounces: tuple[Bounce, ...]) -> dict[str, Any]:
    """List what differs between two; what cannot be measured is None."""
    return {
        "a": bounces[found.a].evidence.form.file,
        "b": bounces[found.b].evidence.form.file,
        "residual_db": round(found.residual.below_song_db, 2),
        "residual_below_hz": _round(found.residual_below_hz, 0),
        "residual_dbfs": round(found.residual.level_dbfs, 2),
        "same_apart_from_level": found.level_only,
        "level_difference_db": round(found.residual.gain_db, 3) + 0.0,
        "bands": [
            {
                "low_hz": round(band.low_hz, 2),
                "high_hz": round(band.high_hz, 2),
                "difference_db": _round(band.difference_db),
            }
            for band in found.bands
        ],
        "peak_to_loudness_difference_db": _round(found.peak_to_loudness_db),
        "stretch_peak_difference_db": _round(found.stretch_peak_db),
        "hits_over_song_difference_db": _round(found.hits_db),
        "side_over_middle_difference_db": _round(found.side_db),
        "softest_difference_db": _round(found.softest_db),
        "faults_only_in_a": [_list_faults(fault) for fault in found.faults_a],
        "faults_only_in_b": [_list_faults(fault) for fault in found.faults_b],
    }


def _list_faults(fault: FaultCount) -> dict[str, Any]:
    return {
        "kind": fault.kind,
        "count": fault.count,
        "first_s": round(fault.first_s, 4),
        "strongest": round(fault.strongest, 2),
        "unit": fault.unit,
    }


def _round(value: float | None, digits: int = 3) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), digits) + 0.0
