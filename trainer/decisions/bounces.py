"""Bounces of one song put in step, and the stretches of it on which they can be heard against each other."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.loops import SEAM_S, SHORTEST_LOOP_S, cut_loop
from trainer.audio.shifting import cut_shifted
from trainer.decisions.evidence import Evidence
from trainer.dsp.matching import MatchedLoop
from trainer.errors import BadValue
from trainer.measure.alignment import SAME_SONG, Alignment, Recording, align_songs
from trainer.measure.steps import STEP_S
from trainer.units import write_number

Steps = npt.NDArray[np.float64]

FEWEST, MOST = 2, 8
STRETCH_S = 8.0
LONGEST_STRETCH_S = 60.0
# Stretches are proposed on a grid of this; the quiet one is no fade: not so far below the loudest.
GRID_S = 0.1
QUIET_WITHIN_DB = 15.0
# No stretch is proposed this near to a place where one of the bounces has something else.
BESIDE_ODD_S = 2.0
SILENT = 10 ** (-68 / 10)
IN_STEP = Alignment(0.0, 0.0, 1, False, "", 1.0)


@dataclass(frozen=True)
class Bounce:
    """Hold one file as it was read.

    Parameters
    ----------
    name : str
        What it is called in words.
    recording : Recording
        Its sound, at the rate that all are compared at.
    evidence : Evidence
        What was measured of the file itself.
    alignment : Alignment
        How it lies against the first.
    """

    name: str
    recording: Recording
    evidence: Evidence
    alignment: Alignment = IN_STEP

    @property
    def clip(self) -> Clip:
        """Its sound."""
        return Clip(self.recording.samples, self.recording.rate_hz)

    @property
    def rate_converted(self) -> bool:
        """Whether the file has another rate."""
        return self.evidence.form.sample_rate_hz != self.clip.rate_hz

    @property
    def span(self) -> tuple[float, float]:
        """First and last frame of the first bounce's time that it holds."""
        start = -self.alignment.offset_frames
        scale = 1 + 1e-6 * self.alignment.drift_ppm
        return start / scale, (start + self.clip.frames) / scale


@dataclass(frozen=True)
class Heard:
    """Hold a bounce, what it has in common with the others, and the matched stretch."""

    bounce: Bounce
    common: Clip
    matched: MatchedLoop


@dataclass(frozen=True)
class Stretch:
    """Name a stretch, s in the first bounce's time."""

    start_s: float
    end_s: float


def align_bounces(bounces: tuple[Bounce, ...]) -> tuple[tuple[Bounce, ...], tuple[BadValue, ...]]:
    """Bring bounces into step with the first of them that another one fits.

    Parameters
    ----------
    bounces : tuple of Bounce
        As they were read, all at one rate.

    Returns
    -------
    tuple of tuple
        Those of one song, the first of them in step with itself, and a line for each other.
    """
    left = list(bounces)
    refused: list[BadValue] = []
    while left:
        first = left[0].recording
        found = [replace(other, alignment=align_songs(first, other.recording)) for other in left[1:]]
        fitting = [bounce for bounce in found if bounce.alignment.same_song]
        if fitting or len(left) <= FEWEST:
            others = [_refuse_song(bounce, left[0]) for bounce in found if not bounce.alignment.same_song]
            return (left[0], *fitting), (*refused, *others)
        likest = max(found, key=lambda bounce: bounce.alignment.correlation)
        refused.append(_refuse_song(replace(left[0], alignment=likest.alignment), likest))
        left.pop(0)
    return (), tuple(refused)


def keep_common(
    bounces: tuple[Bounce, ...], wished: Stretch | None, least_s: float = SHORTEST_LOOP_S
) -> tuple[tuple[Bounce, ...], tuple[BadValue, ...]]:
    """Keep the bounces that share a stretch: the one wished, or any of a length.

    Parameters
    ----------
    bounces : tuple of Bounce
        In step; one or more.
    wished : Stretch or None
        Where it has to be.
    least_s : float
        Its length where it may be anywhere, s.

    Returns
    -------
    tuple of tuple
        Those that do, and a line for each that does not.
    """
    kept: list[Bounce] = []
    refused: list[BadValue] = []
    rate_hz = bounces[0].clip.rate_hz
    start, end = (-math.inf, math.inf)
    for bounce in bounces:
        first, last = max(start, bounce.span[0]), min(end, bounce.span[1])
        holds = last - first >= least_s * rate_hz - 1
        if wished is not None:
            holds = first <= wished.start_s * rate_hz + 1 and last >= wished.end_s * rate_hz - 1
        if holds:
            kept.append(bounce)
            start, end = first, last
        else:
            need = f"at least {least_s:g} s in common with the others"
            asked = need if wished is None else f"all of {wished.start_s:g} to {wished.end_s:g} s"
            span = " to ".join(write_number(frame / rate_hz, 2) for frame in bounce.span)
            refused.append(BadValue(bounce.name, "holds_s", span, f"{asked}, in the first file's time"))
    return tuple(kept), tuple(refused)


def cut_common(bounces: tuple[Bounce, ...]) -> tuple[Clip, ...]:
    """Cut from each bounce what all have, in step, upright and with its sides put right.

    Where clocks differ, what is cut is in step at its beginning.
    """
    rate_hz = bounces[0].clip.rate_hz
    first, last = (round(at_s * rate_hz) for at_s in find_common_s(bounces))
    return tuple(_cut(bounce, first, last - first) for bounce in bounces)


def cut_loops(bounces: tuple[Bounce, ...], stretch: Stretch) -> tuple[Clip, ...]:
    """Cut a stretch from each bounce as a loop, in step, upright and with its sides put right, its seam baked in."""
    rate_hz = bounces[0].clip.rate_hz
    first = round(stretch.start_s * rate_hz)
    frames = round((stretch.end_s - stretch.start_s) * rate_hz)
    before = max(0, min(round(SEAM_S * rate_hz), first - round(find_common_s(bounces)[0] * rate_hz)))
    return tuple(cut_loop(_cut(bounce, first - before, before + frames), before, frames) for bounce in bounces)


def propose_stretches(bounces: tuple[Bounce, ...], length_s: float | None = None) -> dict[str, Stretch]:
    """Propose stretches of what all bounces have in common: the loudest, and a quiet one that is no fade.

    Parameters
    ----------
    bounces : tuple of Bounce
        In step.
    length_s : float, optional
        Length of a stretch, or what there is in whole 100 ms where that is less; 8 s if not given.

    Returns
    -------
    dict of str to Stretch
        ``loudest`` and ``quiet``; empty where one of the bounces is silent throughout.
    """
    start_s, end_s = find_common_s(bounces)
    wished = min(length_s or STRETCH_S, math.floor((end_s - start_s) / GRID_S + 1e-6) * GRID_S)
    width = round(wished / STEP_S)
    levels = np.stack([_slide(follow_loudness(bounce, start_s, end_s), width) for bounce in bounces])
    sounding = (levels > SILENT).all(axis=0)
    alike = sounding & ~_list_odd(bounces, start_s, wished, sounding.size)
    sounding = alike if alike.any() else sounding
    if not sounding.any():
        return {}
    # Every bounce counts alike, however loud it is.
    together = np.where(sounding, np.log10(np.maximum(levels, SILENT)).mean(axis=0), -np.inf)
    loudest = int(together.argmax())
    quiet = np.where(together > together[loudest] - QUIET_WITHIN_DB / 10, together, np.inf)
    return {
        name: Stretch(round(start_s + place * GRID_S, 6), round(start_s + place * GRID_S + wished, 6))
        for name, place in (("loudest", loudest), ("quiet", int(quiet.argmin())))
    }


def _list_odd(bounces: tuple[Bounce, ...], start_s: float, length_s: float, count: int) -> npt.NDArray[np.bool_]:
    """Mark the stretches, on the grid, that hold or come near a place where one of the bounces has something else."""
    starts_s = start_s + GRID_S * np.arange(count)
    odd = np.zeros(count, dtype=bool)
    for bounce in bounces:
        for frame in bounce.alignment.odd_frames:
            at_s = frame / bounce.clip.rate_hz
            odd |= (starts_s < at_s + BESIDE_ODD_S) & (starts_s + length_s > at_s - BESIDE_ODD_S)
    return odd


def find_common_s(bounces: tuple[Bounce, ...]) -> tuple[float, float]:
    """Find where what all have in common begins and ends, s in the first bounce's time; whole frames."""
    first = math.ceil(max(bounce.span[0] for bounce in bounces) - 1e-3)
    last = math.floor(min(bounce.span[1] for bounce in bounces) + 1e-3)
    rate_hz = bounces[0].clip.rate_hz
    return first / rate_hz, last / rate_hz


def follow_loudness(bounce: Bounce, start_s: float, end_s: float) -> Steps:
    """Give the K-weighted power of a bounce between two moments, in steps of 10 ms, in step within half of one."""
    power = bounce.evidence.programme.loudness.power
    at_s = start_s + bounce.alignment.offset_at(start_s * bounce.clip.rate_hz) / bounce.clip.rate_hz
    places = round(at_s / STEP_S) + np.arange(math.floor((end_s - start_s) / STEP_S + 1e-6))
    inside = (places >= 0) & (places < power.size)
    return np.where(inside, power[np.clip(places, 0, power.size - 1)], 0.0)


def _slide(power: Steps, width: int) -> Steps:
    """Mean power of every stretch of so many steps, on the grid."""
    total = np.concatenate([[0.0], np.cumsum(power)])
    means = (total[width:] - total[:-width]) / width
    return np.asarray(means[:: round(GRID_S / STEP_S)])


def _cut(bounce: Bounce, first: int, frames: int) -> Clip:
    """Cut frames of the first bounce's time from a bounce, upright, with its sides put right."""
    place = bounce.alignment
    clip = cut_shifted(bounce.clip, first + place.offset_at(first), frames)
    samples = clip.samples[:, ::-1] if place.swapped else clip.samples
    return clip if samples is clip.samples and place.polarity > 0 else clip.with_samples(place.polarity * samples)


def _refuse_song(bounce: Bounce, other: Bounce) -> BadValue:
    """Say that two are not the same song."""
    figure = write_number(bounce.alignment.correlation, 2)
    return BadValue(
        bounce.name, "correlation", figure, f"{SAME_SONG:.2f} or more against {other.name}, as bounces of one song have"
    )
