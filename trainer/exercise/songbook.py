"""What is known of songs, worked out once and remembered: contents, possible loops, and drives to a loudness."""

from __future__ import annotations

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.song_push import SongDrive, SongPush
from trainer.dsp.move import Move
from trainer.errors import BadValue, NotReachable
from trainer.exercise.excerpts import Candidate, list_candidates
from trainer.exercise.song import Song
from trainer.measure.contents import Band, SongContents, add_bands, measure_contents
from trainer.measure.loudness import measure_integrated_lufs


class SongBook:
    """Keep what was worked out of songs, each by the hash of its file."""

    def __init__(self) -> None:
        self._contents: dict[str, SongContents] = {}
        self._candidates: dict[tuple[str, str, str], tuple[Candidate, ...] | BadValue] = {}
        self._drives: dict[tuple[str, float, str], SongDrive | NotReachable] = {}
        self._lufs: dict[str, float] = {}
        self._prepared: tuple[str, Clip] | None = None

    def list_loops(self, song: Song, move: Move, settings: dict[str, float]) -> tuple[Candidate, ...]:
        """List a song's possible loops for a move, the fittest first; see `list_candidates`.

        A song is measured once; further bands are added to that.

        Raises
        ------
        BadValue
            If it has none; a song that does not fit is looked at once, too.
        """
        key = (song.sha256, move.name, _write(settings))
        if key not in self._candidates:
            try:
                contents = self._measure(song, move.bands_hz(settings))
                self._candidates[key] = list_candidates(song, contents, move, settings)
            except BadValue as refusal:
                self._candidates[key] = refusal
        found = self._candidates[key]
        if isinstance(found, BadValue):
            raise found
        return found

    def drive_song(self, song: Song, move: SongPush, loudness_lufs: float, settings: dict[str, float]) -> SongDrive:
        """Find the drive that brings a whole song to a loudness; see `SongPush.drive_song`.

        Raises
        ------
        NotReachable
            If it cannot be had; a song is driven once, in this case too.
        """
        key = (song.sha256, loudness_lufs, _write(settings))
        if key not in self._drives:
            if self._prepared is None or self._prepared[0] != song.sha256:
                self._prepared = (song.sha256, move.prepare(song.clip))
            try:
                self._drives[key] = move.drive_song(self._prepared[1], loudness_lufs, settings)
            except NotReachable as refusal:
                self._drives[key] = refusal
        found = self._drives[key]
        if isinstance(found, NotReachable):
            raise found
        return found

    def read_lufs(self, song: Song) -> float:
        """Read a whole song's loudness, LUFS."""
        if song.sha256 not in self._lufs:
            self._lufs[song.sha256] = measure_integrated_lufs(song.clip.samples, song.clip.rate_hz)
        return self._lufs[song.sha256]

    def _measure(self, song: Song, bands_hz: tuple[Band, ...]) -> SongContents:
        """Measure a song, or what is not known of it yet."""
        known, samples = self._contents.get(song.sha256), song.clip.samples
        found = add_bands(known, samples, bands_hz) if known else measure_contents(samples, song.clip.rate_hz, bands_hz)
        self._contents[song.sha256] = found
        return found


def _write(settings: dict[str, float]) -> str:
    """Write settings in one way."""
    return repr(sorted(settings.items()))
