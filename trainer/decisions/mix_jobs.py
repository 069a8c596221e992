"""Long works on a mix, and what comes of them: read, compared, proposed, rendered, bounced."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from trainer.decisions.compressor_settings import SettingGrid
from trainer.decisions.fade_proposals import FadeCheck
from trainer.decisions.intake import IntakeItem
from trainer.decisions.sheet import Bounced, Candidate, Fades, Finding, Loudness, MixFile, Sheet
from trainer.decisions.song_edges import Edge, SongEdges

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
    edges : SongEdges or None
        What was found at both ends.
    """

    mix: MixFile
    intake: tuple[IntakeItem, ...]
    findings: tuple[Finding, ...]
    fades: Fades
    fade_reasons: tuple[str, ...]
    edges: SongEdges | None = None


@dataclass(frozen=True)
class HearSong:
    """Ask for a whole file as it is heard on a pass, or a part of it; at the usual level."""

    path: str
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
class HearEdge:
    """Ask for the head or the tail of a mix, as it is and with a fade that is tried, both measured."""

    path: str
    fades: Fades
    edge: Edge


@dataclass(frozen=True)
class EdgeHeard:
    """Hold one end of a mix.

    Parameters
    ----------
    fades : Fades
        What is tried.
    edge : str
        ``head`` or ``tail``.
    sounds : ndarray of float32, shape (2, frames, 2)
        With the fade, and as it is; both at one gain.
    rate_hz : int
        Of the sounds.
    outlines : tuple of tuple of float
        Of both sounds, on one scale.
    start_s : float
        Where it begins in the song, s; below 0 where silence lies before it.
    faded, plain : FadeCheck
        What both measure.
    """

    fades: Fades
    edge: Edge
    sounds: Sounds
    rate_hz: int
    outlines: tuple[tuple[float, ...], ...]
    start_s: float
    faded: FadeCheck
    plain: FadeCheck


@dataclass(frozen=True)
class CompareSongs:
    """Ask for a mix beside references of the person's own."""

    path: str
    references: tuple[str, ...]


@dataclass(frozen=True)
class BandMarks:
    """Hold one row: its name, the mix against the middle of the references, and each reference, dB.

    ``kind`` is that of `balance.BalanceRow`; ``part`` names what it is heard in, see `balance_parts.PARTS`.
    """

    name: str
    mix_db: float | None
    references_db: tuple[float | None, ...]
    kind: str = "band"
    part: str = ""


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
    note : str
        Why there are no moves, or fewer than there are differences.
    """

    rows: tuple[BandMarks, ...]
    hashes: tuple[str, ...]
    paths: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    sent_back: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    note: str = ""


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
    parts : tuple of str
        Of ``named`` versions, where bands can be heard alone: the first of the sounds are all versions of the first
        part, and so on.
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
    parts: tuple[str, ...] = ()


@dataclass(frozen=True)
class TrySettings:
    """Ask for a bus compressor at many settings on a loud stretch, after the moves that are kept."""

    path: str
    candidate: Candidate
    kept: tuple[Candidate, ...]


@dataclass(frozen=True)
class SettingsHeard:
    """Hold a bus compressor at many settings, ready to be heard with their names.

    Parameters
    ----------
    job : TrySettings
        What was asked.
    grid : SettingGrid
        What every setting measures.
    sounds : ndarray of float32, shape (settings + 1, frames, 2)
        The song as it comes to the compressor, then the settings in the order of the grid, all equally loud.
    rate_hz : int
        Of the sounds.
    stretch : tuple of float
        The place in the song, s.
    loudness_lufs, spread_lu : float
        At which all play, and within which.
    outline : tuple of float
        Of the untouched song there.
    """

    job: TrySettings
    grid: SettingGrid
    sounds: Sounds
    rate_hz: int
    stretch: tuple[float, float]
    loudness_lufs: float
    spread_lu: float
    outline: tuple[float, ...]


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
    """Ask for all files that a sheet's targets need.

    Parameters
    ----------
    sheet : Sheet
        What was decided.
    out : str
        Path of the master; where there are several files, form by form, its name begins theirs.
    force : bool
        Write over files that were not made here.
    versions : tuple of str
        Paths of other versions of the mix, made with the same settings and the same gain.
    own : tuple of str
        Hashes of files that were made here, and may be made again.
    """

    sheet: Sheet
    out: str
    force: bool = False
    versions: tuple[str, ...] = ()
    own: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlacesTaken:
    """Say that files are there which were not made here; nothing was done."""

    wish: MakeBounce
    paths: tuple[str, ...]


@dataclass(frozen=True)
class CheckFile:
    """Ask for a file, made here or elsewhere, to be checked against a sheet."""

    sheet: Sheet
    path: str


@dataclass(frozen=True)
class BounceChecked:
    """Hold a file that was made or checked.

    Parameters
    ----------
    bounced : Bounced
        The file.
    lines : tuple of str
        Everything there is to say of it.
    form : str
        Rate, word length and format, in words.
    judged : tuple of (str, str)
        The targets it is for, by their titles, and what became of each.
    version_of : str
        The mix whose settings and gain another version was made with; empty for the mix itself.
    """

    bounced: Bounced
    lines: tuple[str, ...]
    form: str = ""
    judged: tuple[tuple[str, str], ...] = ()
    version_of: str = ""


@dataclass(frozen=True)
class Delivered:
    """Hold the files that were made in one go, or one that was checked, and how versions lie against the mix."""

    files: tuple[BounceChecked, ...]
    lined_up: tuple[str, ...] = ()
    made: bool = False
