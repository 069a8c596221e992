"""All that is read of a compressor: its reduction over time, and what became of the drums and the bass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.errors import BadValue
from trainer.measure.beat import Strokes, find_strokes, measure_movement
from trainer.measure.hits import measure_hits_over_song
from trainer.measure.reduction import Reduction, measure_reduction
from trainer.measure.roughness import find_held_bass, measure_roughness_db

SHORTEST_S = 0.05


@dataclass(frozen=True)
class CompressionReading:
    """Hold what a compressor did.

    Parameters
    ----------
    reduction : Reduction
        Over time, in steps of 1 ms.
    quantities : dict of str to float
        Every figure that can be read of this sound, its unit in its name.
    """

    reduction: Reduction
    quantities: dict[str, float]


def refuse_short(samples: npt.NDArray[np.floating], rate_hz: int) -> None:
    """Refuse a loop in which no reduction can be followed.

    Raises
    ------
    BadValue
        If it is shorter than 50 ms.
    """
    if samples.shape[0] < SHORTEST_S * rate_hz:
        raise BadValue("loop", "duration_s", f"{samples.shape[0] / rate_hz:.4f}", f"{SHORTEST_S:g} s or more")


def measure_compression(
    before: npt.NDArray[np.floating], after: npt.NDArray[np.floating], rate_hz: int, resting_gain: float
) -> CompressionReading:
    """Read a compressor from a round of a loop before and after it.

    Parameters
    ----------
    before, after : ndarray, shape (frames, channels)
        Input and output, sample for sample, 50 ms or longer.
    rate_hz : int
        Sampling rate.
    resting_gain : float
        Amplitude factor of the output where nothing is reduced.

    Returns
    -------
    CompressionReading
        Reduction on the hits, its mean and 95th percentile, swing and recovery at the beat; where there is bass held,
        its roughness; where there are kicks or snares, how far they stand over the song before and after.

    Raises
    ------
    BadValue
        If the loop is too short.
    """
    refuse_short(before, rate_hz)
    reduction = measure_reduction(before, after, rate_hz, resting_gain)
    strokes = find_strokes(before, rate_hz)
    movement = measure_movement(reduction, strokes.beats)
    quantities: dict[str, float | None] = {
        "reduction_on_hits_db": reduction.on_hits_db,
        "reduction_mean_db": reduction.mean_db,
        "reduction_95th_percentile_db": reduction.percentile_95_db,
        "swing_at_beat_db": movement.swing_db,
        "recovery_between_hits_percent": movement.recovery_percent,
        "roughness_on_bass_db": measure_roughness_db(reduction, find_held_bass(before, rate_hz)),
        **measure_drums(before, after, rate_hz, strokes),
    }
    return CompressionReading(reduction, {name: value for name, value in quantities.items() if value is not None})


def measure_drums(
    before: npt.NDArray[np.floating], after: npt.NDArray[np.floating], rate_hz: int, strokes: Strokes
) -> dict[str, float | None]:
    """Measure how far snare and kick stand over the song before and after, dB; None where there are none."""
    read: dict[str, float | None] = {}
    for name, hits in (("snare", strokes.snares), ("kick", strokes.kicks)):
        read[f"{name}_over_song_before_db"] = measure_hits_over_song(before, rate_hz, hits)
        read[f"{name}_over_song_after_db"] = measure_hits_over_song(after, rate_hz, hits)
    return read
