"""What a push costs a song, read from the rendered song: the hits, the snare, what was added."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from trainer.audio.clip import Clip
from trainer.decisions.bounces import Stretch
from trainer.decisions.candidate_loops import cut_stretches
from trainer.dsp.colour.added import AddedMeter
from trainer.measure.beat import Flags, find_strokes
from trainer.measure.hits import find_loudest_hits, measure_hits_over_song
from trainer.measure.programme import measure_programme
from trainer.measure.reduction import measure_reduction
from trainer.units import db_to_gain


@dataclass
class Costs:
    """Hold what every rung of one song is measured against; each figure is read when it is first asked for.

    Parameters
    ----------
    before : Clip
        The song behind its kept moves, prepared as the push wants it.
    loud : Stretch or None
        Where what was added is read; the whole song if there is none.
    """

    before: Clip
    loud: Stretch | None

    @cached_property
    def snares(self) -> Flags:
        """Where the snares are."""
        return find_strokes(self.before.samples, self.before.rate_hz).snares

    @cached_property
    def hits(self) -> Flags:
        """Where the loudest hits are."""
        return find_loudest_hits(self.before.samples, self.before.rate_hz)

    @cached_property
    def added(self) -> AddedMeter:
        """The meter of what was added."""
        return AddedMeter(self.cut(self.before))

    def cut(self, song: Clip) -> Clip:
        """Cut the loud stretch."""
        return song if self.loud is None else cut_stretches(song, (self.loud,))[0]

    def stand_out(self, song: Clip, hits: Flags) -> float | None:
        """Read how far hits stand over a song, dB."""
        return measure_hits_over_song(song.samples, song.rate_hz, hits)


def measure_costs(costs: Costs, after: Clip, drive_db: float) -> dict[str, float]:
    """Measure what a rung costs.

    Parameters
    ----------
    costs : Costs
        The song before the push.
    after : Clip
        The pushed song.
    drive_db : float
        The gain ahead of the ceiling: at rest the output is up by this.

    Returns
    -------
    dict of str to float
        ``reduction_on_hits_db`` and ``reduction_mean_db``; ``hits_crest_lost_db`` and, where there is a snare,
        ``snare_crest_lost_db``: how much less they stand over the song; ``peak_to_loudness_db`` and
        ``short_term_dynamics_db`` of what is left; ``added_percent`` and ``added_db`` on the loud stretch.
    """
    before, rate = costs.before, costs.before.rate_hz
    reduction = measure_reduction(before.samples, after.samples, rate, db_to_gain(drive_db))
    dynamics = measure_programme(after.samples, rate).dynamics
    added = costs.added.measure(costs.cut(after))
    found: dict[str, float | None] = {
        "reduction_on_hits_db": reduction.on_hits_db,
        "reduction_mean_db": reduction.mean_db,
        "hits_crest_lost_db": _subtract(costs.stand_out(before, costs.hits), costs.stand_out(after, costs.hits)),
        "snare_crest_lost_db": _subtract(costs.stand_out(before, costs.snares), costs.stand_out(after, costs.snares)),
        "peak_to_loudness_db": dynamics.peak_to_loudness_db,
        "short_term_dynamics_db": dynamics.short_term_dynamics_db,
        "added_percent": added.percent,
        "added_db": added.below_song_db,
    }
    return {name: value for name, value in found.items() if value is not None and math.isfinite(value)}


def _subtract(was: float | None, became: float | None) -> float | None:
    return None if was is None or became is None else was - became
