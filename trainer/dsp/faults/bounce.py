"""A bounce with the faults that bounces have, all of them listed: to learn on, and to try a scan on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.faults.click import plant_click
from trainer.dsp.faults.clipped_run import clip_stretch
from trainer.dsp.faults.intersample import plant_intersample_over
from trainer.dsp.faults.places import find_peaks
from trainer.dsp.faults.planted import Planted, require_sound
from trainer.dsp.faults.steady import plant_rumble
from trainer.errors import BadValue
from trainer.units import db_to_gain

CLICK_WITHIN_S = (0.005, 0.05)
CLICK_DB = (18.0, 30.0)
CLIPPED_DB = (3.0, 5.0)
RUMBLE_BELOW_SONG_DB = (24.0, 30.0)
OVERS = 3
OVER_DB = (0.6, 1.8)
PEAK_DBFS = -0.2


@dataclass(frozen=True)
class Stretch:
    """Name a stretch of a song by where it begins and ends, s."""

    start_s: float
    end_s: float


@dataclass(frozen=True)
class FaultyBounce:
    """Hold a bounce with what is wrong with it, in the order of time; each entry holds the finished bounce."""

    clip: Clip
    faults: tuple[Planted, ...]


def make_faulty_bounce(clip: Clip, chorus: Stretch, ends_s: float, seed: int) -> FaultyBounce:
    """Make a bounce with a click at its head, a clipped chorus, rumble, inter-sample overs, and no fade at its end.

    Parameters
    ----------
    clip : Clip
        A whole song without faults.
    chorus : Stretch
        What is clipped.
    ends_s : float
        Where the bounce stops, s: in the middle of the tail, behind the chorus.
    seed : int
        Decides how strong each fault is and where the click and the overs are.

    Returns
    -------
    FaultyBounce
        Its samples stay below full scale; its true peaks do not.

    Raises
    ------
    BadValue
        If a place does not lie inside the clip or the clip is silent.
    """
    require_sound(clip, "bounce")
    if not 0 <= chorus.start_s < chorus.end_s <= ends_s <= clip.duration_s:
        where = f"{chorus.start_s:g} to {chorus.end_s:g} and {ends_s:g}"
        raise BadValue("bounce", "places_s", where, "a chorus, then an end, inside the clip")
    rng = np.random.default_rng(seed)
    rumble = plant_rumble(clip, rng.uniform(*RUMBLE_BELOW_SONG_DB), seed)
    loud = _turn_up(rumble.clip, chorus, rng.uniform(*CLIPPED_DB))
    clipped = clip_stretch(loud, chorus.start_s, chorus.end_s, db_to_gain(PEAK_DBFS))
    faults = [rumble, clipped, *_plant_overs(clipped.clip, chorus, rng)]
    faults.append(plant_click(faults[-1].clip, rng.uniform(*CLICK_WITHIN_S), rng.uniform(*CLICK_DB)))
    cut = faults[-1].clip
    end = round(ends_s * clip.rate_hz)
    bounce = cut.with_samples(np.clip(cut.samples[:end], -1.0, 1.0))
    faults.append(_describe_cut(clip, end))
    listed = sorted((fault.with_clip(bounce) for fault in faults), key=lambda fault: (fault.place_s, fault.fault))
    return FaultyBounce(bounce, tuple(listed))


def _turn_up(clip: Clip, chorus: Stretch, over_db: float) -> Clip:
    """Turn the whole song up so that the chorus is too high by so much, and everything else held below full scale."""
    first, last = (round(place * clip.rate_hz) for place in (chorus.start_s, chorus.end_s))
    highest = float(np.abs(clip.samples[first:last]).max())
    if highest <= 0:
        raise BadValue("bounce", "chorus", "silence", "a stretch with sound")
    samples = clip.samples.astype(np.float64) * db_to_gain(PEAK_DBFS + over_db) / highest
    outside = max(float(np.abs(samples[:first]).max(initial=0.0)), float(np.abs(samples[last:]).max(initial=0.0)))
    if outside > db_to_gain(PEAK_DBFS):
        share = db_to_gain(PEAK_DBFS) / outside
        samples[:first] *= share
        samples[last:] *= share
    return clip.with_samples(samples)


def _plant_overs(clip: Clip, chorus: Stretch, rng: np.random.Generator) -> list[Planted]:
    """Put inter-sample overs on high samples outside the chorus."""
    outside = [place for place in find_peaks(clip, 1.0) if not chorus.start_s - 0.1 <= place <= chorus.end_s + 0.1]
    places = sorted(rng.permutation(outside)[:OVERS].tolist())
    faults: list[Planted] = []
    for place in places:
        faults.append(plant_intersample_over(faults[-1].clip if faults else clip, place, rng.uniform(*OVER_DB)))
    return faults


def _describe_cut(clip: Clip, end: int) -> Planted:
    """List the missing fade: how long the song goes on in the original above 60 dB under its highest sample."""
    level = np.abs(clip.samples).max(axis=1)
    over = np.flatnonzero(level >= float(level.max()) / 1000)
    missing_ms = max(0.0, 1000 * (int(over[-1]) + 1 - end) / clip.rate_hz)
    return Planted(clip, "abrupt_end", end / clip.rate_hz, missing_ms / 1000, "both", missing_ms, "ms")
