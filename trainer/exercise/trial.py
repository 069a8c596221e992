"""One trial: what is wanted, what was made of it, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.dsp.move import Effect
from trainer.exercise.drill import Drill
from trainer.exercise.forms.form import Grade, Layout, Take
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
    """Hold the facts of one version as it is played.

    Parameters
    ----------
    number : int
        From 1 on, as it is asked for.
    take : Take
        What was wanted of it.
    asked : dict of str to float
        The move's complete settings, solved on this loop, and the asked effect; empty for the loop as it is.
    effect : Effect or None
        What the sound shows, as played; None for the loop as it is.
    gain_db, loudness_lufs, true_peak_dbtp : float
        Gain put on to match it, and what it measures after that.
    unit : str
        Of the take's amount; empty where nothing was done.
    """

    number: int
    take: Take
    asked: dict[str, float]
    effect: Effect | None
    gain_db: float
    loudness_lufs: float
    true_peak_dbtp: float
    unit: str = ""

    @property
    def processed(self) -> bool:
        """Whether a move was made."""
        return self.take.processed


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
    layout : Layout
        What may be said of the versions, what may be answered, and what is right.
    effect_name : str
        The quantity that the amount stands for.
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
    layout: Layout
    effect_name: str
    change_db: float
    outline: tuple[float, ...]
    loudness_matched: bool = True

    @property
    def target(self) -> Version:
        """The version that the answer is about."""
        return self.versions[self.layout.target]

    @property
    def asked(self) -> dict[str, float]:
        """Complete settings of that version, and the asked effect."""
        return self.target.asked

    @property
    def effect(self) -> Effect:
        """What was measured of that version."""
        assert self.target.effect is not None
        return self.target.effect

    @property
    def answers(self) -> tuple[str, ...]:
        """The answers that are offered."""
        return self.layout.answers

    @property
    def numbered(self) -> int:
        """How many versions can be listened to by number."""
        return self.layout.numbered

    @property
    def right_answer(self) -> str:
        """The answer that is right; empty where none is."""
        return self.layout.right_answer

    @property
    def spread_lu(self) -> float:
        """Loudness of the loudest version over the softest."""
        values = [version.loudness_lufs for version in self.versions]
        return max(values) - min(values)


@dataclass(frozen=True)
class Outcome:
    """Say what became of an answered trial: scored or not, how it was judged, and how long it took."""

    trial: str
    index: int
    amount: float
    measured: float
    answer: str
    right_answer: str
    grade: Grade
    response_s: float
    scored: bool

    @property
    def correct(self) -> bool | None:
        """Right, wrong, or neither where no answer is right."""
        return self.grade.correct
