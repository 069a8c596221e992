"""Paths as a person types them: completed, and told apart."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Literal

import platformdirs

from trainer.errors import BadValue
from trainer.files.sound_reading import hash_file

FileKind = Literal["sound", "history"]
HOME_WORDS = "the home folder"
MOST_OFFERED = 120
HISTORY_SUFFIXES = (".jsonl", ".json")
SOUND_SUFFIXES = (".wav", ".flac", ".aif", ".aiff", ".ogg", ".opus", ".mp3", ".w64", ".rf64", ".caf", ".au")
SUFFIXES: dict[FileKind, tuple[str, ...]] = {"sound": SOUND_SUFFIXES, "history": HISTORY_SUFFIXES}


def identify_file(path: str) -> tuple[str, int, int]:
    """Tell a file from one that was written over since: its whole path, time and size; zeros where there is none."""
    place = Path(path).expanduser()
    try:
        found = place.stat()
    except OSError:
        return str(place), 0, 0
    return str(place.resolve()), found.st_mtime_ns, found.st_size


def list_beginnings() -> tuple[Path, ...]:
    """List the folders in which a search for music begins: the system's music folder if there is one, and home."""
    try:
        places = (Path(platformdirs.user_music_dir()), Path.home())
    except RuntimeError:  # no home folder is known
        return ()
    return tuple(place for place in dict.fromkeys(places) if place.is_dir())


class Paths:
    """Complete paths to files of a kind; folders end with a separator."""

    def complete(self, typed: str, kind: FileKind = "sound") -> tuple[str, ...]:
        """List folders and files of a kind that begin as typed, folders first; hidden ones only when asked.

        Where nothing is typed, folders to begin with: those in which music is kept, and the home folder.
        """
        if not typed:
            return tuple(str(place) + os.sep for place in list_beginnings())
        text = os.path.expanduser(typed) if typed.startswith("~") else typed
        folder, begun = os.path.split(text)
        try:
            entries = sorted(os.scandir(folder or "."), key=_rank)
        except OSError:
            return ()
        found = []
        for entry in entries:
            if not entry.name.lower().startswith(begun.lower()) or entry.name.startswith(".") > begun.startswith("."):
                continue
            path = os.path.join(folder, entry.name)
            if entry.is_dir():
                found.append(path + os.sep)
            elif Path(entry.name).suffix.lower() in SUFFIXES[kind]:
                found.append(path)
            if len(found) == MOST_OFFERED:
                break
        return tuple(found)

    def name(self, path: str) -> str:
        """Give a file's or a folder's name without where it lies; the home folder is called so."""
        return HOME_WORDS if _is_home(Path(path)) else Path(path).name

    def read_hash(self, path: str) -> str:
        """Give the SHA-256 of a file's bytes.

        Raises
        ------
        BadValue
            If it cannot be read.
        """
        place = Path(path).expanduser()
        try:
            return hash_file(place)
        except OSError as error:
            raise BadValue("audio", "file", place, f"a file that can be read ({error.strerror})") from None

    def make_whole(self, path: str) -> str:
        """Give the whole path, with the home folder and all links resolved."""
        return str(Path(path).expanduser().resolve())


def _is_home(place: Path) -> bool:
    """Tell whether a path is the home folder."""
    try:
        return place.is_absolute() and place == Path.home()
    except RuntimeError:  # no home folder is known
        return False


def _rank(entry: os.DirEntry[str]) -> tuple[bool, list[tuple[int, str]]]:
    """Rank folders before files, and numbers within names by what they count: mix 2 before mix 10."""
    parts = re.split(r"(\d+)", entry.name.lower())
    return not entry.is_dir(), [(int(part), "") if part.isdecimal() else (-1, part) for part in parts]
