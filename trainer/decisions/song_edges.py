"""Where the music of a song starts and what lies before it; how its last sound dies away and what is left then."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import scipy

from trainer.decisions.evidence import Evidence
from trainer.errors import BadValue
from trainer.measure import standards
from trainer.measure.loudness_trace import to_lufs
from trainer.measure.steps import STEP_S

Steps = npt.NDArray[np.float64]
Edge = Literal["head", "tail"]
EDGES: tuple[Edge, ...] = ("head", "tail")

# The room is at its floor where it stays within this of the softest of what follows, or below where nobody hears it;
# common practice, no source.
OVER_FLOOR_DB, INAUDIBLE_LUFS = 3.0, -80.0
# What still falls is no floor: of a straight fall by 3 dB the middle and the last third differ by 1 dB, whatever its
# rate. The first third is left out, for there a slow room may still fall into a floor.
LEVEL_WITHIN_DB = 0.5
# A file whose last tenth of a second is so near to the loudness of the song stops while it plays.
PLAYING_LU = 20.0
SMOOTH_STEPS = 10
# A decay is told where it was followed for so long and so far.
DECAY_LEAST_S, DECAY_LEAST_DB = 0.2, 6.0
# So far over the floor it adds less than half a decibel to a decay; ISO 3382-1, from memory.
CLEAR_OF_FLOOR_DB = 10.0


@dataclass(frozen=True)
class SongEdges:
    """Hold what was found at both ends of a song.

    Parameters
    ----------
    music_from_s : float
        Where the first sound of the music is.
    head_noise_lufs : float or None
        Loudness of what is heard before it; None where nothing is.
    song_lufs : float
        Integrated loudness of the song.
    last_loud_s : float
        Where it is within 10 LU of that for the last time.
    room_ends_s : float or None
        Where the last sound has fallen into the floor; None where the file ends before that.
    floor_lufs : float
        Loudness of what is left then; minus infinity for digital silence.
    decay_db_per_s : float or None
        How fast it falls from the last loud moment on, a straight line through its loudness as far as that is clear of
        the floor; None where that is too short or too flat to tell.
    """

    music_from_s: float
    head_noise_lufs: float | None
    song_lufs: float
    last_loud_s: float
    room_ends_s: float | None
    floor_lufs: float
    decay_db_per_s: float | None


def read_edges(evidence: Evidence) -> SongEdges:
    """Read both ends of a song from what was measured of it.

    Raises
    ------
    BadValue
        If the song is silent.
    """
    trace = evidence.programme.loudness
    if evidence.scan.edges.head_silence_s is None or not math.isfinite(trace.integrated_lufs):
        raise BadValue(evidence.form.file, "loudness_lufs", "−∞", "a song with sound in it")
    noise = next((each for each in evidence.scan.faults if each.kind == "head_noise"), None)
    levels = smooth_levels(trace.power)
    room_s, floor = find_room_end(levels, trace.integrated_lufs)
    return SongEdges(
        noise.end_s if noise else evidence.scan.edges.head_silence_s,
        noise.strength if noise else None,
        trace.integrated_lufs,
        _find_last_loud(levels, trace.integrated_lufs) * STEP_S,
        room_s,
        floor,
        measure_decay(levels, trace.integrated_lufs, room_s, floor),
    )


def find_room_end(levels: Steps, integrated_lufs: float) -> tuple[float | None, float]:
    """Find where the last sound of a song has fallen into what is left behind it.

    Parameters
    ----------
    levels : ndarray, shape (steps,)
        Loudness over 100 ms, every 10 ms, LUFS.
    integrated_lufs : float
        Of the song.

    Returns
    -------
    tuple of (float or None, float)
        Where, s, or None where the file ends before; and the loudness of the floor, LUFS.
    """
    last = _find_last_loud(levels, integrated_lufs)
    tail = levels[last:]
    floor = float(tail[-SMOOTH_STEPS:].max())
    over = np.flatnonzero(tail > max(floor + OVER_FLOOR_DB, INAUDIBLE_LUFS))
    ends = last + (int(over[-1]) + 1 if over.size else 0)
    # A floor is level: where the end still falls, or the music goes on, there is none yet.
    settled = floor <= INAUDIBLE_LUFS or (
        floor < integrated_lufs - 2 * PLAYING_LU and levels.size - ends >= 50 and _is_level(levels[ends:])
    )
    return (ends * STEP_S if settled else None), floor


def measure_decay(levels: Steps, integrated_lufs: float, room_ends_s: float | None, floor_lufs: float) -> float | None:
    """Measure how fast the last sound falls, dB a second; None where it is too short or too flat to tell.

    Parameters
    ----------
    levels : ndarray, shape (steps,)
        Loudness over 100 ms, every 10 ms, LUFS.
    integrated_lufs : float
        Of the song.
    room_ends_s : float or None
        Where it has fallen into the floor, as `find_room_end` gives it.
    floor_lufs : float
        Loudness of that floor.

    Notes
    -----
    A decay is read down to 10 dB over the noise behind it, for from there on the noise flattens it: ISO 3382-1, from
    memory.
    """
    last = _find_last_loud(levels, integrated_lufs)
    if room_ends_s is None:
        # What lies behind the end of a file is no part of its decay.
        falling = levels[last : levels.size - SMOOTH_STEPS]
    else:
        falling = levels[last : round(room_ends_s / STEP_S)]
        clear = np.flatnonzero(falling > floor_lufs + CLEAR_OF_FLOOR_DB)
        falling = falling[: int(clear[-1]) + 1 if clear.size else 0]
    falling = falling[np.isfinite(falling)]
    if falling.size < DECAY_LEAST_S / STEP_S or falling.max() - falling.min() < DECAY_LEAST_DB:
        return None
    return -float(scipy.stats.linregress(np.arange(falling.size) * STEP_S, falling).slope)


def smooth_levels(power: Steps) -> Steps:
    """Give the loudness of the 100 ms from each step on, LUFS."""
    padded = np.append(power, np.full(SMOOTH_STEPS - 1, power[-1] if power.size else 0.0))
    total = np.concatenate([[0.0], np.cumsum(padded)])
    return to_lufs(np.maximum(total[SMOOTH_STEPS:] - total[:-SMOOTH_STEPS], 0.0) / SMOOTH_STEPS)


def _find_last_loud(levels: Steps, integrated_lufs: float) -> int:
    """Find the last step within 10 LU of the song's loudness."""
    loud = np.flatnonzero(levels > integrated_lufs + standards.RELATIVE_GATE_LU)
    return int(loud[-1]) if loud.size else 0


def _is_level(levels: Steps) -> bool:
    """Tell whether the middle and the last third of a floor are alike."""
    third = max(1, levels.size // 3)
    return bool(np.median(levels[third:-third]) - np.median(levels[-third:]) < LEVEL_WITHIN_DB)
