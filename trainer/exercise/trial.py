"""One trial: what is wanted, what was made of it, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.dsp.move import Effect
from trainer.exercise.drill import Drill
from trainer.exercise.song import SongEntry


@dataclass(frozen=True)
class TrialSpec:
    """Ask for a trial. With the sound's hash it reproduces the trial exactly.

    Parameters
    ----------
    drill : Drill
        What is trained.
    seed : int
        Of the run; decides places, order and nothing else, together with the index.
    index : int
        Trial within the run, from 0.
    amount : float
        In the drill's unit.
    demonstration : bool
        A labelled example: two versions, the unprocessed one first, nothing is scored.
    """

    drill: Drill
    seed: int
    index: int
    amount: float
    demonstration: bool = False


@dataclass(frozen=True)
class Version:
    """Hold the facts of one version as it is played."""

    number: int
    processed: bool
    gain_db: float
    loudness_lufs: float
    true_peak_dbtp: float


@dataclass(frozen=True)
class Excerpt:
    """Name the place of a loop in a song, s, in words too."""

    start_s: float
    end_s: float
    caption: str


@dataclass(frozen=True)
class PreparedTrial:
    """Hold everything of a trial that has been made and checked.

    Parameters
    ----------
    spec : TrialSpec
        What was asked for.
    song : SongEntry
        Which song it is made of.
    sha256 : str
        Hash of the song's file.
    excerpt : Excerpt
        Place of the loop.
    rate_hz : int
        Rate of the versions.
    sounds : ndarray of float32, shape (versions + 1, frames, 2)
        The versions in their order; behind them only what changed.
    versions : tuple of Version
        Their facts.
    answers : tuple of str
        The possible answers.
    right_answer : str
        The one that is right.
    asked : dict of str to float
        Complete settings, and the asked effect.
    effect_name : str
        The quantity that the amount stands for.
    effect : Effect
        What was measured from the sound.
    change_db : float
        Level of what changed against the song.
    outline : tuple of float
        The unprocessed loop's peaks, 0–1.
    loudness_matched : bool
        Whether all versions are equally loud; not so where level itself is the question.
    """

    spec: TrialSpec
    song: SongEntry
    sha256: str
    excerpt: Excerpt
    rate_hz: int
    sounds: npt.NDArray[np.float32]
    versions: tuple[Version, ...]
    answers: tuple[str, ...]
    right_answer: str
    asked: dict[str, float]
    effect_name: str
    effect: Effect
    change_db: float
    outline: tuple[float, ...]
    loudness_matched: bool = True

    @property
    def spread_lu(self) -> float:
        """Loudness of the loudest version over the softest."""
        values = [version.loudness_lufs for version in self.versions]
        return max(values) - min(values)


@dataclass(frozen=True)
class Outcome:
    """Say what became of an answered trial: scored or not, right or not, and how long it took."""

    trial: str
    index: int
    amount: float
    measured: float
    answer: str
    right_answer: str
    correct: bool
    response_s: float
    scored: bool
