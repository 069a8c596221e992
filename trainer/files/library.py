"""The drills and songs there are: those that ship with the program and the person's own."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import Any

from trainer.errors import BadValue, BadValues
from trainer.exercise.drill import Drill
from trainer.exercise.families import sort_by_family
from trainer.exercise.schema import read_drills
from trainer.exercise.song import Bars, Reference, Section, SongEntry, Stem
from trainer.files.folders import find_bundled
from trainer.files.yaml_text import load_yaml

NEAREST = 3


def list_drills(data_folder: Path) -> dict[str, Drill]:
    """List all drills by name and family, the shipped ones and those in the data folder's ``exercises``.

    Raises
    ------
    BadValues, BadValue
        If a file is broken; every fault of it is a line.
    """
    files = sorted(find_bundled("exercises").glob("*.yaml"))
    own = data_folder / "exercises"
    files += sorted(own.glob("*.yaml")) if own.is_dir() else []
    drills: dict[str, Drill] = {}
    for path in files:
        for drill in read_drills(load_yaml(path), path.name):
            if drill.drill in drills:
                raise BadValues((BadValue(path.name, "drill", drill.drill, "a name that no other file uses"),))
            drills[drill.drill] = drill
    return sort_by_family(drills.values())


def find_drill(drills: dict[str, Drill], name: str) -> Drill:
    """Find a drill by its name.

    Raises
    ------
    BadValue
        With the nearest names, if there is none.
    """
    if name not in drills:
        near = ", ".join(difflib.get_close_matches(name, sorted(drills), NEAREST, cutoff=0.0))
        raise BadValue("drill", "name", name, f"a drill such as {near}; see `evenhand list drills`")
    return drills[name]


def list_demo_songs() -> tuple[SongEntry, ...]:
    """List the bundled songs with their bars and sections."""
    folder = find_bundled("audio_demo")
    document = load_yaml(folder / "songs.yaml")
    songs = document.get("songs") if isinstance(document, dict) else None
    if not isinstance(songs, list) or not songs:
        raise BadValue("songs.yaml", "songs", type(songs).__name__, "a list of songs")
    return tuple(_describe_song(folder, song) for song in songs)


def _describe_song(folder: Path, song: dict[str, Any]) -> SongEntry:
    return SongEntry(
        str(folder / song["file"]),
        str(song["title"]),
        "demo",
        _describe_bars(song),
        _describe_sections(song),
        tuple(Stem(str(stem["part"]), str(folder / stem["file"])) for stem in song.get("stems", ())),
        _describe_reference(folder, song),
    )


def _describe_reference(folder: Path, song: dict[str, Any]) -> Reference | None:
    """Describe the finished song that stands within a song's entry, if one does; their bars are equally long."""
    other = song.get("reference")
    if other is None:
        return None
    bars, own = _describe_bars(other), _describe_bars(song)
    if bars.length_s != own.length_s:
        raise BadValue(
            "songs.yaml", f"reference of {song['title']}, bar_s", bars.length_s, f"{own.length_s}, as its own"
        )
    path = str(folder / other["file"])
    return Reference(str(other["title"]), path, str(other["sha256"]), bars, _describe_sections(other))


def _describe_bars(song: dict[str, Any]) -> Bars:
    return Bars(float(song["first_downbeat_s"]), float(song["beats_per_bar"]) * 60.0 / float(song["tempo_bpm"]))


def _describe_sections(song: dict[str, Any]) -> tuple[Section, ...]:
    return tuple(Section(str(s["name"]), float(s["start_s"]), float(s["end_s"])) for s in song["sections"])
