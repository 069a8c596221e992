"""What limiting did, read from the sound before and after: the reduction, and what became of the hits."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.audio.clip import Clip
from trainer.dsp.dynamics.compressor import draw_reduction
from trainer.dsp.move import Picture
from trainer.measure.hits import find_loudest_hits, measure_hits_over_song
from trainer.measure.reduction import measure_reduction
from trainer.units import write_number


@dataclass(frozen=True)
class LimitingEffect:
    """Hold the quantities by name, and the reduction over time."""

    measured: dict[str, float]
    picture: Picture


def measure_limiting(before: Clip, after: Clip, resting_gain: float) -> LimitingEffect:
    """Divide output by input in steps of a millisecond, and compare the hits with the song.

    Parameters
    ----------
    before, after : Clip
        Without and with the limiter, sample for sample.
    resting_gain : float
        Amplitude factor of the output where nothing is reduced.

    Returns
    -------
    LimitingEffect
        The hits over the song only where there are hits.
    """
    reduction = measure_reduction(before.samples, after.samples, before.rate_hz, resting_gain)
    hits = find_loudest_hits(before.samples, before.rate_hz)
    was = measure_hits_over_song(before.samples, before.rate_hz, hits)
    became = measure_hits_over_song(after.samples, before.rate_hz, hits)
    measured = {
        "reduction_on_hits_db": reduction.on_hits_db,
        "reduction_mean_db": reduction.mean_db,
        "reduction_95th_percentile_db": reduction.percentile_95_db,
    }
    if was is not None and became is not None:
        measured |= {"hits_over_song_before_db": was, "hits_over_song_after_db": became}
    return LimitingEffect(measured, Picture("reduction", draw_reduction(reduction)))


def tell_hits(measured: dict[str, float], subject: str) -> tuple[str, ...]:
    """Say how the hits stand over the song now, where that was measured."""
    if "hits_over_song_after_db" not in measured:
        return ()
    lost = measured["hits_over_song_before_db"] - measured["hits_over_song_after_db"]
    return (f"{subject} {write_number(abs(lost))} dB {'less' if lost >= 0 else 'more'} above the song.",)
