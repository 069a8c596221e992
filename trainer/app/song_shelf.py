"""Songs read and measured once, and kept for as long as a session works on them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trainer.app.checking import gather_evidence
from trainer.audio.clip import Clip
from trainer.decisions.evidence import Evidence
from trainer.dsp.processor import TellShare
from trainer.exercise.song import Song
from trainer.files.paths import identify_file
from trainer.files.sound_reading import describe_own_song, read_song
from trainer.workshop.desk import Tell

# Of the picture of a loop.
OUTLINE_COLUMNS = 200
# A mix, ten references and a bounce.
MOST_SONGS = 12
# Roughly the part of the time that reading takes; the rest is measuring.
READ = 0.1


@dataclass(frozen=True)
class OpenedSong:
    """Hold a song that was read and measured."""

    song: Song
    evidence: Evidence

    @property
    def clip(self) -> Clip:
        """Its sound at the rate of work."""
        return self.song.clip


def tell_stage(tell: Tell, low: float, width: float) -> Tell:
    """Tell how far a stage of the work is as how far all of it is: it begins at ``low`` and is ``width`` of it."""
    return lambda share, words: tell(low + width * share, words)


def tell_share(tell: Tell, low: float, width: float, words: str) -> TellShare:
    """Tell how far a stage is that has one name for all of it."""
    return lambda share: tell(low + width * share, words)


class SongShelf:
    """Keep songs as they were read; a file that has changed is read again."""

    def __init__(self) -> None:
        self._songs: dict[tuple[str, int, int], OpenedSong] = {}

    def read(self, path: str, tell: Tell) -> OpenedSong:
        """Read and measure a song, or take it as it was read.

        Raises
        ------
        BadValue
            If it cannot be read; see `read_song`.
        """
        place = Path(path).expanduser()
        key = identify_file(path)
        if key not in self._songs:
            tell(0.0, f"Reading {place.name}")
            song = read_song(describe_own_song(path))
            length_s = max(song.clip.duration_s, 1e-9)

            def measured(time_s: float) -> None:
                tell(min(1.0, READ + (1 - READ) * time_s / length_s), f"Measuring {place.name}")

            measured(0.0)
            self._songs[key] = OpenedSong(song, gather_evidence(str(place), tell=measured))
            while len(self._songs) > MOST_SONGS:
                self._songs.pop(next(iter(self._songs)))
        return self._songs[key]
