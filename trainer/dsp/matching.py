"""Versions of one loop brought to equal loudness, on exactly what will be played."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.audio.clip import Clip
from trainer.dsp.processor import TellShare, tell_nothing
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
# Of matching many: when all is measured, and when it is turned and measured again; the rest is the second meter.
MEASURED, TURNED = 0.25, 0.7


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
    loudness = [_measure_lufs(loop) for loop in loops]
    room = [CEILING_DBTP - PEAK_MARGIN_DB - measure_loop_true_peak(loop.samples, loop.rate_hz).dbtp for loop in loops]
    common = min(played_lufs, *(value + left for value, left in zip(loudness, room, strict=True)))
    matched = tuple(_turn(loop, common - value) for loop, value in zip(loops, loudness, strict=True))
    guard_match(matched)
    return matched


def match_many(loops: Sequence[Clip], tell: TellShare = tell_nothing) -> tuple[MatchedLoop, ...]:
    """Bring many loops to one loudness, with less work for each: the peak is measured once, after the gain.

    The second meter reads one round of each: from rest its filters settle in a tenth of a second.

    Parameters
    ----------
    loops : sequence of Clip
        Versions of one loop; all of one rate and length.
    tell : callable
        Is told how much of the work is done, 0 to 1.

    Returns
    -------
    tuple of MatchedLoop
        In the same order.

    Raises
    ------
    BadValue
        As `match_loops`.
    """
    gains_db = [PLAYED_LUFS - _measure_lufs(loop) for loop in loops]
    tell(MEASURED)
    matched = tuple(_turn(loop, gain_db) for loop, gain_db in zip(loops, gains_db, strict=True))
    over_db = max(each.true_peak_dbtp for each in matched) - (CEILING_DBTP - PEAK_MARGIN_DB)
    if over_db > 0:
        matched = tuple(_turn(loop, gain_db - over_db) for loop, gain_db in zip(loops, gains_db, strict=True))
    tell(TURNED)
    guard_match(matched, rounds=1)
    return matched


def level_loops(loops: tuple[Clip, ...], played_lufs: float = PLAYED_LUFS) -> tuple[MatchedLoop, ...]:
    """Turn loops by one and the same gain: the first to a loudness, or as near below it as none passes −1 dBTP."""
    highest = max(measure_loop_true_peak(loop.samples, loop.rate_hz).dbtp for loop in loops)
    gain_db = min(CEILING_DBTP - PEAK_MARGIN_DB - highest, played_lufs - _measure_lufs(loops[0]))
    return tuple(_turn(loop, gain_db) for loop in loops)


def turn_loop(loop: Clip, gain_db: float) -> Clip:
    """Change a loop's level by a gain in dB; 0 dB gives the loop itself."""
    return loop if gain_db == 0 else loop.with_samples(loop.samples.astype(float) * db_to_gain(gain_db))


def guard_match(matched: tuple[MatchedLoop, ...], rounds: int = 3) -> None:
    """Refuse versions that are not equally loud, or too high in peak.

    Parameters
    ----------
    matched : tuple of MatchedLoop
        What will be played.
    rounds : int
        How many rounds of each the second meter reads.

    Raises
    ------
    BadValue
        With the figure that is off.
    """
    spread = spread_lu(matched)
    if spread > CLOSEST_LU:
        raise BadValue("loudness match", "spread_lu", f"{spread:.3f}", f"at most {CLOSEST_LU} LU")
    second = [read_loop_lufs(item.loop.samples, item.loop.rate_hz, rounds) for item in _distinct(matched)]
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


def _measure_lufs(loop: Clip) -> float:
    """Measure a loop's loudness; silence has none that could be matched."""
    loudness = measure_loop_lufs(loop.samples, loop.rate_hz)
    if not math.isfinite(loudness):
        raise BadValue("loop", "loudness_lufs", "−∞", "sound above the −70 LUFS gate")
    return loudness


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
