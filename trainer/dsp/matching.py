"""Versions of one loop brought to equal loudness, on exactly what will be played."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.audio.clip import Clip
from trainer.errors import BadValue
from trainer.measure.loudness import measure_loop_lufs
from trainer.measure.second_reading import read_loop_lufs
from trainer.measure.standards import CEILING_DBTP
from trainer.measure.true_peak import measure_loop_true_peak
from trainer.units import db_to_gain

# Further below the ceiling than a meter's rounding.
PEAK_MARGIN_DB = 0.02
# Songs come at many levels; what is played keeps to one, so that no trial is a shock after the one before it.
PLAYED_LUFS = -20.0
CLOSEST_LU = 0.01
GUARD_LU = 0.05


@dataclass(frozen=True)
class MatchedLoop:
    """Hold one version as it will be played.

    Parameters
    ----------
    loop : Clip
        The sound, gain applied.
    gain_db : float
        What was applied, dB.
    loudness_lufs : float
        Measured round the loop after the gain.
    true_peak_dbtp : float
        The higher of two readings, after the gain.
    """

    loop: Clip
    gain_db: float
    loudness_lufs: float
    true_peak_dbtp: float


def match_loops(loops: tuple[Clip, ...], played_lufs: float = PLAYED_LUFS) -> tuple[MatchedLoop, ...]:
    """Bring loops to one loudness, or as near below it as none passes −1 dBTP.

    Parameters
    ----------
    loops : tuple of Clip
        Versions of one loop; all of one rate and length.
    played_lufs : float
        What is played at; less for an ending, which is never turned up against its song.

    Returns
    -------
    tuple of MatchedLoop
        In the same order.

    Raises
    ------
    BadValue
        If a loop is silent, or the versions are not equally loud on our meter within 0.01 LU and on a second,
        independent one within 0.05 LU.
    """
    loudness = [measure_loop_lufs(loop.samples, loop.rate_hz) for loop in loops]
    if not all(math.isfinite(value) for value in loudness):
        raise BadValue("loop", "loudness_lufs", "−∞", "sound above the −70 LUFS gate")
    room = [CEILING_DBTP - PEAK_MARGIN_DB - measure_loop_true_peak(loop.samples, loop.rate_hz).dbtp for loop in loops]
    common = min(played_lufs, *(value + left for value, left in zip(loudness, room, strict=True)))
    matched = tuple(_turn(loop, common - value) for loop, value in zip(loops, loudness, strict=True))
    guard_match(matched)
    return matched


def level_loops(loops: tuple[Clip, ...], played_lufs: float = PLAYED_LUFS) -> tuple[MatchedLoop, ...]:
    """Turn loops by one and the same gain: the first to a loudness, or as near below it as none passes −1 dBTP."""
    highest = max(measure_loop_true_peak(loop.samples, loop.rate_hz).dbtp for loop in loops)
    loudness = measure_loop_lufs(loops[0].samples, loops[0].rate_hz)
    if not math.isfinite(loudness):
        raise BadValue("loop", "loudness_lufs", "−∞", "sound above the −70 LUFS gate")
    gain_db = min(CEILING_DBTP - PEAK_MARGIN_DB - highest, played_lufs - loudness)
    return tuple(_turn(loop, gain_db) for loop in loops)


def turn_loop(loop: Clip, gain_db: float) -> Clip:
    """Change a loop's level by a gain in dB; 0 dB gives the loop itself."""
    return loop if gain_db == 0 else loop.with_samples(loop.samples.astype(float) * db_to_gain(gain_db))


def guard_match(matched: tuple[MatchedLoop, ...]) -> None:
    """Refuse versions that are not equally loud, or too high in peak.

    Raises
    ------
    BadValue
        With the figure that is off.
    """
    spread = spread_lu(matched)
    if spread > CLOSEST_LU:
        raise BadValue("loudness match", "spread_lu", f"{spread:.3f}", f"at most {CLOSEST_LU} LU")
    second = [read_loop_lufs(item.loop.samples, item.loop.rate_hz) for item in _distinct(matched)]
    if max(second) - min(second) > GUARD_LU:
        raise BadValue(
            "loudness match",
            "second_reading_lu",
            f"{max(second) - min(second):.3f}",
            f"at most {GUARD_LU} LU",
        )
    highest = max(item.true_peak_dbtp for item in matched)
    if highest > CEILING_DBTP:
        raise BadValue("loudness match", "true_peak_dbtp", f"{highest:.2f}", f"at most {CEILING_DBTP:g} dBTP")


def spread_lu(matched: tuple[MatchedLoop, ...]) -> float:
    """Difference between the loudest and the softest version, LU."""
    values = [item.loudness_lufs for item in matched]
    return max(values) - min(values)


def _turn(loop: Clip, gain_db: float) -> MatchedLoop:
    turned = turn_loop(loop, gain_db)
    return MatchedLoop(
        turned,
        gain_db,
        measure_loop_lufs(turned.samples, turned.rate_hz),
        measure_loop_true_peak(turned.samples, turned.rate_hz).dbtp,
    )


def _distinct(matched: tuple[MatchedLoop, ...]) -> tuple[MatchedLoop, ...]:
    """Leave out repeats of one and the same sound."""
    seen = {id(item.loop.samples): item for item in matched}
    return tuple(seen.values())
