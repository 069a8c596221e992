"""How far bounces would be turned down where music is played at one level."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trainer.decisions.target import Target
from trainer.units import write_number


@dataclass(frozen=True)
class PlaybackLevel:
    """Hold a level at which music is played, LUFS, and whose figure that is, and of when."""

    title: str
    aim_lufs: float
    origin: str

    def turn_db(self, integrated_lufs: float) -> float:
        """Give by how much a file would be turned, dB, below 0 where down."""
        return self.aim_lufs - integrated_lufs


def list_playback_levels(targets: Iterable[Target]) -> tuple[PlaybackLevel, ...]:
    """List the levels that targets aim at, each once, the loudest first.

    Parameters
    ----------
    targets : iterable of Target
        Where two aim at one level, the first one counts.

    Returns
    -------
    tuple of PlaybackLevel
        With the standing, the source and the date of each figure.
    """
    found: dict[float, PlaybackLevel] = {}
    for target in targets:
        rule, aim_lufs = target.loudness, target.aim_lufs
        if rule is not None and aim_lufs is not None and aim_lufs not in found:
            origin = f"{rule.status.replace('_', ' ')}: {rule.source}, {rule.date}"
            found[aim_lufs] = PlaybackLevel(target.title, aim_lufs, origin)
    return tuple(sorted(found.values(), key=lambda level: -level.aim_lufs))


def word_turn(level: PlaybackLevel, integrated_lufs: float, true_peak_dbtp: float | None) -> str:
    """Say how far a file would be turned down, or how far it could be turned up before its peaks reach −1 dBTP."""
    turn_db = level.turn_db(integrated_lufs)
    if round(turn_db, 1) == 0:
        return "left as it is"
    if turn_db < 0:
        return f"{write_number(turn_db, 1)} dB"
    room_db = None if true_peak_dbtp is None else max(0.0, -1.0 - true_peak_dbtp)
    if room_db is None or room_db >= turn_db:
        short = ""
    else:
        short = f"; its peaks leave {'no room' if room_db < 0.05 else f'{write_number(room_db, 1)} dB'}"
    return f"{write_number(turn_db, 1)} dB under it{short}"
