"""Long works on a mix, and what comes of them: read, compared, proposed, rendered, bounced."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from trainer.decisions.intake import IntakeItem
from trainer.decisions.sheet import Bounced, Candidate, Fades, Finding, Loudness, MixFile, Sheet

Sounds = npt.NDArray[np.float32]


@dataclass(frozen=True)
class OpenMix:
    """Ask for a mix to be read, measured and looked through for faults."""

    path: str


@dataclass(frozen=True)
class MixOpened:
    """Hold what is known of a mix before anything is done to it.

    Parameters
    ----------
    mix : MixFile
        The file.
    intake : tuple of IntakeItem
        Whether it is ready, and what goes back first.
    findings : tuple of Finding
        Of the fault scan.
    fades : Fades
        Proposed.
    fade_reasons : tuple of str
        Why.
    """

    mix: MixFile
    intake: tuple[IntakeItem, ...]
    findings: tuple[Finding, ...]
    fades: Fades
    fade_reasons: tuple[str, ...]


@dataclass(frozen=True)
class HearSong:
    """Ask for a whole file as it is heard on a pass, or a part of it; at the usual level, faded as the sheet says."""

    path: str
    fades: Fades | None = None
    start_s: float = 0.0
    end_s: float | None = None


@dataclass(frozen=True)
class SongHeard:
    """Hold a pass: the sound, shape (1, frames, 2), its rate, its outline, and where it begins in the song, s."""

    sounds: Sounds
    rate_hz: int
    outline: tuple[float, ...]
    start_s: float
    loudness_lufs: float


@dataclass(frozen=True)
class CompareSongs:
    """Ask for a mix beside references of the person's own."""

    path: str
    references: tuple[str, ...]


@dataclass(frozen=True)
class BandMarks:
    """Hold one row: its name, the mix against the middle of the references, and each reference, dB."""

    name: str
    mix_db: float | None
    references_db: tuple[float | None, ...]


@dataclass(frozen=True)
class SongsCompared:
    """Hold a mix beside its references.

    Parameters
    ----------
    rows : tuple of BandMarks
        Bands, width, density.
    hashes : tuple of str
        Of the references that are in the comparison, as their files are.
    paths : tuple of str
        Where these lie.
    candidates : tuple of Candidate
        At most three broad moves.
    sent_back, warnings, refused : tuple of str
        What goes back to the mix; what to keep in mind; a line for each song that is not in it.
    """

    rows: tuple[BandMarks, ...]
    hashes: tuple[str, ...]
    paths: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    sent_back: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()


@dataclass(frozen=True)
class Propose:
    """Ask for candidates of a step (``balance``: hygiene at the bottom; ``sweetening``), with what is kept so far."""

    path: str
    step: str
    kept: tuple[Candidate, ...] = ()


@dataclass(frozen=True)
class Proposed:
    """Hold candidates, and a line for each that makes no sense on this song."""

    step: str
    candidates: tuple[Candidate, ...]
    refused: tuple[str, ...] = ()


@dataclass(frozen=True)
class HearMoves:
    """Ask for the song with some moves against the song with others, on stretches of it.

    Parameters
    ----------
    path : str
        The mix.
    without, with_them : tuple of Candidate
        Moves of either version.
    places : str
        ``sections`` (a loud and a quiet one) or ``whole`` (verse, chorus, ending).
    loudness : Loudness or None
        The last stage, put on the version ``with_them`` alone; None for none.
    both_loud : bool
        Put the last stage on both.
    """

    path: str
    without: tuple[Candidate, ...]
    with_them: tuple[Candidate, ...]
    places: str = "sections"
    loudness: Loudness | None = None
    both_loud: bool = False


@dataclass(frozen=True)
class TryRungs:
    """Ask for loudness rungs around an aim, after the moves that are kept."""

    path: str
    kept: tuple[Candidate, ...]
    asked_lufs: tuple[float, ...]
    ceiling_dbtp: float
    playback_lufs: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class VersionsHeard:
    """Hold versions ready to be compared blind.

    Parameters
    ----------
    sounds : tuple of ndarray of float32, shape (versions, frames, 2)
        For each place all versions, equally loud.
    rate_hz : int
        Of the sounds.
    stretches : tuple of (float, float)
        The places in the song, s.
    captions : tuple of str
        Their names; of ``named`` versions those of the versions.
    hashes : tuple of str
        Of the mix and the moves of each version, so that it is known again.
    loudness_lufs, spread_lu : float
        At which all play, and within which.
    outlines : tuple of tuple of float
        Of the untouched song at each place.
    results : dict of str to float
        What the moves measure on the whole song.
    loudness : Loudness or None
        The rungs, where rungs were tried.
    refused : tuple of str
        What could not be had.
    kind : str
        ``moves`` (without, with), ``rungs``, or ``named`` (each has its name; no test).
    """

    sounds: tuple[Sounds, ...]
    rate_hz: int
    stretches: tuple[tuple[float, float], ...]
    captions: tuple[str, ...]
    hashes: tuple[str, ...]
    loudness_lufs: float
    spread_lu: float
    outlines: tuple[tuple[float, ...], ...]
    results: dict[str, float] = field(default_factory=dict)
    loudness: Loudness | None = None
    refused: tuple[str, ...] = ()
    kind: Literal["moves", "rungs", "named"] = "moves"


@dataclass(frozen=True)
class HearSystems:
    """Ask for the kept moves as small systems play them, as a listening aid."""

    path: str
    kept: tuple[Candidate, ...]


@dataclass(frozen=True)
class HearBeside:
    """Ask for the loudest section of a mix and of its references, all equally loud, each with its name."""

    path: str
    references: tuple[str, ...]


@dataclass(frozen=True)
class MakeBounce:
    """Ask for a file made from a sheet."""

    sheet: Sheet
    out: str
    force: bool = False


@dataclass(frozen=True)
class CheckFile:
    """Ask for a file, made here or elsewhere, to be checked against a sheet."""

    sheet: Sheet
    path: str


@dataclass(frozen=True)
class BounceChecked:
    """Hold a file that was made or checked, the verdict, and everything there is to say of it."""

    bounced: Bounced
    lines: tuple[str, ...]
