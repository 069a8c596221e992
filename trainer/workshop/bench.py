"""Songs read once, their possible loops listed once, and trials made of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import overload

from trainer.dsp.move import Move
from trainer.dsp.moves import MOVES
from trainer.exercise.preparation import prepare_trial
from trainer.exercise.song import Song, SongEntry
from trainer.exercise.songbook import SongBook
from trainer.exercise.trial import PreparedTrial, TrialSpec

ReadSong = Callable[[SongEntry], Song]


class Songs(Sequence[Song]):
    """Read a song when it is first looked at: one trial needs one or two of them."""

    def __init__(self, entries: tuple[SongEntry, ...], read_song: ReadSong) -> None:
        self._entries, self._read_song = entries, read_song
        self._read: dict[int, Song] = {}

    def __len__(self) -> int:
        """Count the songs."""
        return len(self._entries)

    @overload
    def __getitem__(self, place: int) -> Song: ...

    @overload
    def __getitem__(self, place: slice) -> Sequence[Song]: ...

    def __getitem__(self, place: int | slice) -> Song | Sequence[Song]:
        """Give a song, or several."""
        if isinstance(place, slice):
            return [self[number] for number in range(*place.indices(len(self)))]
        entry = self._entries[place]
        if place not in self._read:
            self._read[place] = self._read_song(entry)
        return self._read[place]


class Bench:
    """Make trials of a few songs.

    Parameters
    ----------
    entries : tuple of SongEntry
        The songs.
    read_song : callable
        Reads one; it must be importable by name, as it may be sent to another process.
    moves : mapping of str to Move
        The moves by name.
    book : SongBook or None
        What is known of the songs already.
    """

    def __init__(
        self,
        entries: tuple[SongEntry, ...],
        read_song: ReadSong,
        moves: Mapping[str, Move] = MOVES,
        book: SongBook | None = None,
    ) -> None:
        self._moves = moves
        self._songs = Songs(entries, read_song)
        self._book = book or SongBook()

    def make(self, spec: TrialSpec) -> PreparedTrial:
        """Make a trial; see `prepare_trial`."""
        return prepare_trial(self._songs, spec, self._book, self._moves)

    def songs(self) -> tuple[Song, ...]:
        """Read all the songs."""
        return tuple(self._songs)
