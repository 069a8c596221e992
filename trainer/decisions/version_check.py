"""Versions of one master, such as instrumental, clean and a cappella: gain, length and place against the main one."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.shifting import cut_shifted
from trainer.decisions.version_check_gain import SharedGain, find_shared_gain
from trainer.decisions.version_check_lag import SAME_MASTER, Lag, find_lag
from trainer.errors import BadValue
from trainer.measure.residual import measure_residual
from trainer.units import db_to_gain, write_number

Samples = npt.NDArray[np.float32]

FEWEST_VERSIONS, MOST_VERSIONS = 1, 7
# Two versions are said to be parts of one whole where both leave less of the master than either one alone.
NEARER_DB = 3.0
# Gains nearer than that are one gain.
SAME_GAIN_DB = 0.05


@dataclass(frozen=True)
class VersionSound:
    """Hold one file of a master's versions.

    Parameters
    ----------
    name, file : str
        What it is called in words, and its path.
    samples : ndarray of float32, shape (frames, 2)
        Its sound, at the rate at which all are compared.
    rate_hz, file_rate_hz, file_frames : int
        That rate, and rate and length of the file itself.
    """

    name: str
    file: str
    samples: Samples = field(repr=False)
    rate_hz: int
    file_rate_hz: int
    file_frames: int


@dataclass(frozen=True)
class VersionFinding:
    """Say how a version lies against the main master.

    Parameters
    ----------
    sound : VersionSound
        The version.
    lag : Lag
        By how much it is late, and which way up.
    longer_frames : int
        By how much it is longer, at the rate of the main master.
    same_rate : bool
        Whether the file has the rate of the main master.
    gain : SharedGain or None
        By how much it is louder where both hold the same sound; None where there is too little of that.
    """

    sound: VersionSound
    lag: Lag
    longer_frames: int
    same_rate: bool
    gain: SharedGain | None

    @property
    def same_gain(self) -> bool | None:
        """Whether it has the gain of the main master; None where that cannot be told."""
        if self.gain is None:
            return None
        return not self.gain.moves and abs(self.gain.gain_db) <= max(SAME_GAIN_DB, 1.5 * self.gain.error_db)

    @property
    def fits(self) -> bool:
        """Whether gain, length, place, rate and polarity are those of the main master."""
        in_step = self.lag.offset_frames == 0 and self.lag.polarity > 0 and self.longer_frames == 0
        return in_step and self.same_rate and self.same_gain is True


@dataclass(frozen=True)
class VersionSum:
    """Say how near two versions together are to the main master.

    Parameters
    ----------
    a, b : int
        Which findings.
    left_db, left_at_gains_db : float
        What is left of the main master without their sum, put in step, against it: as they are, and with the gain of
        each put right.
    """

    a: int
    b: int
    left_db: float
    left_at_gains_db: float


@dataclass(frozen=True)
class VersionCheck:
    """Hold what was found of the versions of a main master."""

    main: VersionSound
    findings: tuple[VersionFinding, ...]
    sums: tuple[VersionSum, ...]


def check_versions(main: VersionSound, others: tuple[VersionSound, ...]) -> tuple[VersionCheck, tuple[BadValue, ...]]:
    """Compare versions of one master with the main one.

    Parameters
    ----------
    main : VersionSound
        The main master.
    others : tuple of VersionSound, 1 to 7
        Parts of it may be missing in them, or alone.

    Returns
    -------
    tuple
        What was found, and a line for each file that has nothing in common with the main master.

    Raises
    ------
    BadValue
        If there are too few or too many.
    """
    if not FEWEST_VERSIONS <= len(others) <= MOST_VERSIONS:
        raise BadValue("weigh", "files", len(others) + 1, f"{FEWEST_VERSIONS + 1} to {MOST_VERSIONS + 1} versions")
    lags = [find_lag(main.samples, other.samples, main.rate_hz) for other in others]
    pairs = list(zip(others, lags, strict=True))
    findings = tuple(_compare(main, other, lag) for other, lag in pairs if lag.same_master)
    strangers = tuple(_refuse(main, other, lag) for other, lag in pairs if not lag.same_master)
    return VersionCheck(main, findings, _add_up(main, findings)), strangers


def list_version_check(check: VersionCheck) -> dict[str, Any]:
    """List what was found as plain facts."""
    return {
        "main": check.main.file,
        "main_name": check.main.name,
        "sample_rate_hz": check.main.file_rate_hz,
        "length_samples": check.main.file_frames,
        "versions": [_list_finding(found) for found in check.findings],
        "sums": [
            {
                "a": check.findings[found.a].sound.file,
                "b": check.findings[found.b].sound.file,
                "names": [check.findings[index].sound.name for index in (found.a, found.b)],
                "residual_db": round(found.left_db, 2),
                "residual_at_gains_db": round(found.left_at_gains_db, 2),
            }
            for found in check.sums
        ],
    }


def _compare(main: VersionSound, other: VersionSound, lag: Lag) -> VersionFinding:
    """Compare a version in step."""
    start = max(0, round(-lag.offset_frames))
    frames = min(main.samples.shape[0], round(other.samples.shape[0] - lag.offset_frames)) - start
    version = _put_in_step(other, lag, start, frames)
    gain = find_shared_gain(main.samples[start : start + frames], version, lag.polarity)
    length = round(other.file_frames * main.file_rate_hz / other.file_rate_hz)
    same_rate = other.file_rate_hz == main.file_rate_hz
    return VersionFinding(other, lag, length - main.file_frames, same_rate, gain)


def _put_in_step(other: VersionSound, lag: Lag, start: int, frames: int) -> Samples:
    """Cut from a version what is at some frames of the main master."""
    return cut_shifted(Clip(other.samples, other.rate_hz), start + lag.offset_frames, frames).samples


def _add_up(main: VersionSound, findings: tuple[VersionFinding, ...]) -> tuple[VersionSum, ...]:
    """Add every two versions, and keep the sums that are nearer to the main master than either one alone."""
    parts = [found.lag.polarity * _put_in_step(found.sound, found.lag, 0, main.samples.shape[0]) for found in findings]
    alone = [measure_residual(part, main.samples).below_song_db for part in parts]
    found = []
    for a, b in combinations(range(len(findings)), 2):
        gains = [_undo(findings[index].gain) for index in (a, b)]
        plain, right = (
            _measure_left(main.samples, one * parts[a] + two * parts[b]) for one, two in ((1.0, 1.0), gains)
        )
        if min(plain, right) <= min(alone[a], alone[b]) - NEARER_DB:
            found.append(VersionSum(a, b, plain, right))
    return tuple(found)


def _undo(gain: SharedGain | None) -> float:
    return 1.0 if gain is None else db_to_gain(-gain.gain_db)


def _measure_left(main: Samples, both: Samples) -> float:
    """Level of what is left of the main master without a sum, against it, dB."""
    left = np.einsum("fc,fc->", main - both, main - both, dtype=np.float64)
    whole = np.einsum("fc,fc->", main, main, dtype=np.float64)
    return float(10 * np.log10(max(float(left / max(float(whole), 1e-30)), 1e-15)))


def _refuse(main: VersionSound, other: VersionSound, lag: Lag) -> BadValue:
    """Say that a file is no version of the main master."""
    figure = write_number(lag.likeness, 2)
    return BadValue(
        other.name, "likeness", figure, f"{SAME_MASTER:.2f} or more against {main.name}, as versions of one master have"
    )


def _list_finding(found: VersionFinding) -> dict[str, Any]:
    gain = found.gain
    return {
        "file": found.sound.file,
        "name": found.sound.name,
        "fits": found.fits,
        "offset_samples": round(found.lag.offset_frames, 3) + 0.0,
        "polarity": found.lag.polarity,
        "likeness": round(found.lag.likeness, 4),
        "sample_rate_hz": found.sound.file_rate_hz,
        "length_difference_samples": found.longer_frames,
        "same_gain": found.same_gain,
        "gain_db": None if gain is None else round(gain.gain_db, 4) + 0.0,
        "gain_error_db": None if gain is None else round(gain.error_db, 4),
        "gain_low_db": None if gain is None else round(gain.low_db, 4) + 0.0,
        "gain_high_db": None if gain is None else round(gain.high_db, 4) + 0.0,
        "gain_moves": None if gain is None else gain.moves,
        "shared_residual_db": None if gain is None else round(gain.depth_db, 2),
        "same_throughout": None if gain is None else gain.throughout,
    }
