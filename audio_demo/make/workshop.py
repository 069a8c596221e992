"""The list of songs, and how one is made from its score to its entry."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from .delivery import describe, describe_reference, finish, finish_share, record, write_song, write_stem
from .desk import summed
from .signal import Audio
from .song import Song
from .songs.breakwater_mix import SONG as BREAKWATER
from .songs.crates_mix import SONG as CRATES
from .songs.lanterns_mix import SONG as LANTERNS
from .songs.netloft_mix import SONG as NETLOFT
from .songs.voltage_mix import SONG as VOLTAGE

SONGS = {song.slug: song for song in (BREAKWATER, LANTERNS, NETLOFT, VOLTAGE, CRATES)}


def _keep_stems(song: Song, tracks: Mapping[str, Audio], total: Audio, folder: Path) -> list[dict[str, str]]:
    """Write the shares of the mix that a song keeps, and return their entries."""
    isolate = song.isolate
    if isolate is None:
        return []
    shares = [(stem, finish_share(isolate(tracks, stem.strips), total)) for stem in song.stems]
    return [write_stem(song, stem, share, folder) for stem, share in shares]


def _write(song: Song, total: Audio, folder: Path) -> Path:
    """Write the sum of a song, finished in its own way."""
    return write_song(song, (song.finish or finish)(total), folder)


def _keep_reference(song: Song, folder: Path) -> dict[str, Any] | None:
    """Make and write the finished song that a song is set beside, if it has one, and return its entry."""
    other = song.reference
    if other is None:
        return None
    return describe_reference(other, _write(other, summed(other.combine(other.perform())), folder))


def make(song: Song, folder: Path) -> tuple[dict[str, Any], Path]:
    """Make one song, its stems and its reference in a folder, enter it in the folder's list; return entry and file."""
    tracks = song.combine(song.perform())
    total = summed(tracks)
    path = _write(song, total, folder)
    stems = _keep_stems(song, tracks, total, folder)
    entry = describe(song, path, stems, _keep_reference(song, folder))
    record(entry, folder / "songs.yaml")
    return entry, path


def make_named(slug: str, folder: Path) -> None:
    """Make the song of a name and print what it measures."""
    entry, path = make(SONGS[slug], folder)
    print(f"{path.name}: {path.stat().st_size / 1e6:.1f} MB, sha256 {entry['sha256']}")
    for name, value in entry["measured"].items():
        print(f"  {name:22} {value:8.2f}")
