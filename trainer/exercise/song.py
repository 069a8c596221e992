"""A song as the trials see it: sound, name, hash and, where known, its bars and sections."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from trainer.audio.clip import Clip

AudioClass = Literal["demo", "own"]


@dataclass(frozen=True)
class Section:
    """Name a part of a song, s."""

    name: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Bars:
    """Say where bars begin: the first downbeat and the length of a bar, s."""

    first_s: float
    length_s: float


@dataclass(frozen=True)
class Stem:
    """Point to one part's share of a mix, in step with it: the file, and which part it is."""

    part: str
    path: str


@dataclass(frozen=True)
class Reference:
    """Point to a finished song of the same style and tempo that a mix may be set beside.

    Parameters
    ----------
    title, path : str
        For a person, and where the file is.
    sha256 : str
        Hash of that file; another one is refused, so that the mix's own hash is enough to make a trial again.
    bars : Bars
        As long as those of the mix.
    sections : tuple of Section
        A loop keeps to one of them.
    """

    title: str
    path: str
    sha256: str
    bars: Bars
    sections: tuple[Section, ...]


@dataclass(frozen=True)
class SongEntry:
    """Describe a song without its sound.

    Parameters
    ----------
    path : str
        Where the file is.
    title : str
        For a person.
    audio_class : str
        ``demo`` for bundled music, ``own`` for the person's.
    bars : Bars or None
        If known, loops are cut on bars.
    sections : tuple of Section
        If known, they name the place of a loop.
    stems : tuple of Stem
        Parts of the mix whose own sound is known.
    reference : Reference or None
        A finished song to set it beside, if there is one.
    """

    path: str
    title: str
    audio_class: AudioClass
    bars: Bars | None = None
    sections: tuple[Section, ...] = ()
    stems: tuple[Stem, ...] = ()
    reference: Reference | None = None


@dataclass(frozen=True)
class Song:
    """Hold a song with its sound, as read, the hash of its file, its parts by name, and its reference at its rate."""

    entry: SongEntry
    clip: Clip
    sha256: str
    file_rate_hz: int
    parts: Mapping[str, Clip] = field(default_factory=dict)
    reference: Clip | None = None
