"""Pushing by what the whole song reaches: the drive is solved on the song, and heard on any loop of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.push import Push
from trainer.dsp.move import Effect, Parameter, Settings, complete_settings
from trainer.errors import BadValue, NotReachable
from trainer.measure.loudness import measure_integrated_lufs
from trainer.units import write_number

# One rendering of the song is nearly always enough for this; what it then measures is what is said.
CLOSE_LU = 0.3


@dataclass(frozen=True)
class SongDrive:
    """Hold a drive, dB, and the integrated loudness measured on the whole song so driven, LUFS."""

    drive_db: float
    loudness_lufs: float


@dataclass(frozen=True)
class SongPush(Push):
    """Push until the whole song has a loudness: a ladder of these is what a song costs at −14, −12 ... −7 LUFS.

    Parameters
    ----------
    drive : callable or None
        Finds the drive for a loudness on the song that the loop was cut from.
    """

    name: str = "song_push"
    title: str = "Pushed, by the whole song"
    unit: str = "LUFS"
    effect_name: str = "song_lufs"
    parameters: tuple[Parameter, ...] = (*Push().parameters, Parameter("reached_lufs", "LUFS", -70.0, 0.0, -14.0))
    drive: Callable[[float, dict[str, float]], SongDrive] | None = None

    def with_song(self, drive: Callable[[float, dict[str, float]], SongDrive]) -> SongPush:
        """Give the same move for loops of one song."""
        return replace(self, drive=drive)

    def drive_song(self, song: Clip, loudness_lufs: float, settings: Settings) -> SongDrive:
        """Find the drive that brings a whole song near a loudness, and measure what it has then.

        Parameters
        ----------
        song : Clip
            The whole song, prepared.
        loudness_lufs : float
            What is asked, LUFS.
        settings : Settings
            Ceiling, releases and clipper.

        Raises
        ------
        NotReachable
            If that loudness cannot be had, or the song is louder as it is.
        """
        own_lufs = measure_integrated_lufs(song.samples, song.rate_hz)
        if loudness_lufs < own_lufs:
            held = write_number(own_lufs)
            raise NotReachable(f"{self.name}: amount={loudness_lufs:g}, expected more than the song's own {held} LUFS")
        driven = self.solve_song(song, loudness_lufs, settings, CLOSE_LU)
        if not driven.reached:
            most = write_number(driven.loudness_lufs)
            raise NotReachable(f"{self.name}: amount={loudness_lufs:g}, expected at most {most} LUFS of this song")
        return SongDrive(driven.drive_db, driven.loudness_lufs)

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Look up the drive for the whole song's loudness."""
        found = self._find(amount, settings)
        return complete_settings(self, {**settings, "drive_db": found.drive_db, "reached_lufs": found.loudness_lufs})

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read what became of the loop; the song's loudness was measured when it was driven."""
        song_lufs = complete_settings(self, settings)["reached_lufs"]
        effect = super().measure(before, after, settings, level_gain_db)
        said = f"The whole song reaches {write_number(song_lufs)} LUFS so; turned down again to match."
        return replace(
            effect,
            amount=song_lufs,
            measured={"song_lufs": song_lufs, **effect.measured},
            sentences=(said, *effect.sentences[1:]),
        )

    def _find(self, loudness_lufs: float, settings: Settings) -> SongDrive:
        if self.drive is None:
            raise BadValue(self.name, "song", "none", "a loop of a song that is known as a whole")
        return self.drive(loudness_lufs, dict(settings))
