"""What a comparison by ear needs of bounces: equally loud stretches, their names and hashes, and the facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.loops import outline_loop
from trainer.decisions.bounces import Stretch
from trainer.decisions.rounds import Round
from trainer.decisions.weighing import Weighing, list_weighing, match_stretch
from trainer.dsp.difference import hold_below_ceiling, make_difference

OUTLINE_COLUMNS = 200
Sounds = npt.NDArray[np.float32]


@dataclass(frozen=True)
class BeamJob:
    """Ask for files to be put on the beam, with a stretch; None where it may be any."""

    files: tuple[str, ...]
    start_s: float | None = None
    length_s: float | None = None


@dataclass(frozen=True)
class CopiesJob:
    """Ask for the matched copies of a stretch to be written to a folder."""

    beam: BeamJob
    folder: str


@dataclass(frozen=True)
class PageJob:
    """Ask for all that is known of some bounces to be written as one page, with the rounds that are kept of them."""

    beam: BeamJob
    place: str
    rounds: tuple[Round, ...] = ()


@dataclass(frozen=True)
class OnBeam:
    """Hold bounces ready to be heard against each other.

    Parameters
    ----------
    names, hashes : tuple of str
        What each is called, and the hash of its file.
    rate_hz : int
        Of the sounds.
    stretches : tuple of Stretch
        The one that was asked for, and a quiet one where there is another.
    sounds : tuple of ndarray of float32, shape (versions, frames, 2)
        For each stretch all bounces, equally loud.
    loudness_lufs, spread_lu : float
        Of the first stretch.
    outlines : tuple of tuple of float
        For each stretch peaks of the mean of all, 0–1: they tell nothing of any one of them.
    proposals : dict of str to Stretch
        ``loudest``, ``quiet``.
    duration_s : float
        Of the first bounce.
    facts : dict
        As `list_weighing` gives them.
    left_out : tuple of str
        A line for each file that is not on the beam.
    """

    names: tuple[str, ...]
    hashes: tuple[str, ...]
    rate_hz: int
    stretches: tuple[Stretch, ...]
    sounds: tuple[Sounds, ...]
    loudness_lufs: float
    spread_lu: float
    outlines: tuple[tuple[float, ...], ...]
    proposals: dict[str, Stretch]
    duration_s: float
    facts: dict[str, Any]
    left_out: tuple[str, ...]


def put_on_beam(weighing: Weighing, hashes: tuple[str, ...], left_out: tuple[str, ...]) -> OnBeam:
    """Gather what a comparison by ear needs, the quiet stretch too where it is another place."""
    first = np.stack([matched.loop.samples for matched in weighing.matched])
    stretches, sounds = [weighing.stretch], [first]
    quiet = weighing.proposals.get("quiet")
    if quiet is not None and not _overlap(quiet, weighing.stretch):
        found = match_stretch(weighing.bounces, quiet)
        if found is not None:
            stretches.append(quiet)
            sounds.append(np.stack([matched.loop.samples for matched in found]))
    return OnBeam(
        tuple(bounce.name for bounce in weighing.bounces),
        hashes,
        weighing.bounces[0].clip.rate_hz,
        tuple(stretches),
        tuple(sounds),
        weighing.matched[0].loudness_lufs,
        weighing.spread_lu,
        tuple(outline_loop(each.mean(axis=0), OUTLINE_COLUMNS) for each in sounds),
        weighing.proposals,
        weighing.bounces[0].clip.duration_s,
        list_weighing(weighing),
        left_out,
    )


def hear_difference(beam: OnBeam, stretch: int, pair: tuple[int, int]) -> tuple[Sounds, float]:
    """Give what the second of a pair has and the first has not, with its level against the song, dB."""
    clips = [Clip(beam.sounds[stretch][place], beam.rate_hz) for place in pair]
    change = hold_below_ceiling(make_difference(clips[0], clips[1], linear=False))
    return change.loop.samples, change.level_db


def _overlap(one: Stretch, other: Stretch) -> bool:
    """Tell whether two stretches share any of their time."""
    return one.start_s < other.end_s and other.start_s < one.end_s
