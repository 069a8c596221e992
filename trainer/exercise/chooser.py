"""The possible loops of songs for moves, looked for once and remembered."""

from __future__ import annotations

from trainer.dsp.move import Move
from trainer.errors import BadValue
from trainer.exercise.excerpts import Candidate, list_candidates
from trainer.exercise.song import Song
from trainer.measure.contents import Band, SongContents, add_bands, measure_contents


class Chooser:
    """List the loops that a move can be asked on; a song is measured once, further bands are added to it."""

    def __init__(self) -> None:
        self._contents: dict[str, SongContents] = {}
        self._candidates: dict[tuple[str, str, str], tuple[Candidate, ...] | BadValue] = {}

    def find(self, song: Song, move: Move, settings: dict[str, float]) -> tuple[Candidate, ...]:
        """List a song's possible loops, the fittest first; see `list_candidates`.

        Raises
        ------
        BadValue
            If it has none; a song that does not fit is looked at once, too.
        """
        key = (song.sha256, move.name, repr(sorted(settings.items())))
        if key not in self._candidates:
            try:
                self._candidates[key] = list_candidates(
                    song, self._measure(song, move.bands_hz(settings)), move, settings
                )
            except BadValue as refusal:
                self._candidates[key] = refusal
        found = self._candidates[key]
        if isinstance(found, BadValue):
            raise found
        return found

    def _measure(self, song: Song, bands_hz: tuple[Band, ...]) -> SongContents:
        """Measure a song, or what is not known of it yet."""
        known, samples = self._contents.get(song.sha256), song.clip.samples
        found = add_bands(known, samples, bands_hz) if known else measure_contents(samples, song.clip.rate_hz, bands_hz)
        self._contents[song.sha256] = found
        return found
