"""A bad edit: some milliseconds cut out, so that the beat limps and the room jumps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from trainer.audio.clip import Clip
from trainer.audio.fades import make_rise
from trainer.audio.loops import extend_loop
from trainer.dsp.faults.fault import PLACE, Fault, draw_change, find_first, find_last, read_change
from trainer.dsp.faults.places import find_sounding, pick_place
from trainer.dsp.faults.planted import Planted, Wave, find_frame, require_sound
from trainer.dsp.move import Effect, Need, Parameter, Settings
from trainer.errors import BadValue
from trainer.measure.contents import StretchContents
from trainer.units import write_number

# The join itself is made without a click: what is heard is the time that is missing.
JOIN_S = 0.002
# After so long what was cut out is made up for, by a join that is not heard as one.
MADE_UP_AFTER_S = 0.4
MAKING_UP_S = 0.02
LEAST_HITS_PER_S = 0.7


@dataclass(frozen=True)
class BadEdit(Fault):
    """A join that skips; its strength is the time it skips. The loop keeps its length: 400 ms later it is made up."""

    name: str = "bad_edit"
    title: str = "Bad edit"
    unit: str = "ms"
    effect_name: str = "cut_ms"
    parameters: tuple[Parameter, ...] = (Parameter("cut_ms", "ms", 0.0, 500.0, 40.0), PLACE)

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the time cut out; refuse a loop that has no room for it."""
        full = super().solve(loop, amount, settings)
        if amount / 1000 + 2 * _stays_s(loop) > loop.duration_s:
            raise BadValue(self.name, "cut_ms", f"{amount:g}", "less than half of the loop")
        return full

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Cut at the place that is picked; what comes behind the loop's end is its own beginning."""
        place = pick_place(find_sounding(loop), settings["place_share"])
        place = min(place, loop.duration_s - 2 * _stays_s(loop))
        more = int(round(settings["cut_ms"] / 1000 * loop.rate_hz))
        extended = loop.with_samples(extend_loop(loop.samples, 0, more))
        planted = plant_bad_edit(extended, place, settings["cut_ms"], _stays_s(loop))
        return planted.with_clip(loop.with_samples(planted.clip.samples[: loop.frames]))

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Find by how much the sound behind the join is early, by correlation."""
        require_sound(before, self.name)
        change = read_change(before, after, level_gain_db)
        most = int(self.parameters[0].high / 1000 * before.rate_hz)
        frames = _read(before.samples.astype(np.float64), change, most)
        cut_ms = 1000 * frames / before.rate_hz
        measured = {"cut_ms": cut_ms, "place_s": find_first(change) / before.rate_hz}
        sentence = f"{write_number(cut_ms)} ms are cut out at {write_number(measured['place_s'], 2)} s."
        return Effect(cut_ms, measured, draw_change(before, change), (sentence,))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a beat that can limp."""
        expected = f"{LEAST_HITS_PER_S:g} drum hits a second or more"
        return (Need("hits_per_s", contents.hits_per_s, LEAST_HITS_PER_S, expected),)


def plant_bad_edit(clip: Clip, at_s: float, cut_ms: float, early_s: float = MADE_UP_AFTER_S) -> Planted:
    """Cut some time out at a place, and make up for it a moment later, so that the clip keeps its length.

    Parameters
    ----------
    clip : Clip
        The sound.
    at_s : float
        Where the join is, s, inside the clip.
    cut_ms : float
        Time cut out, ms, 0 or more.
    early_s : float
        For so long the sound is early; the clip reaches this and the time cut out behind the place.

    Returns
    -------
    Planted
        Strength in ms; the length is the time during which the sound is early.

    Raises
    ------
    BadValue
        If the place lies outside, there is no room behind it, or the clip is silent.
    """
    require_sound(clip, "bad_edit")
    at, skipped = find_frame(clip, at_s, "bad_edit"), int(round(cut_ms / 1000 * clip.rate_hz))
    stays = int(early_s * clip.rate_hz)
    if at + stays + skipped > clip.frames:
        raise BadValue("bad_edit", "cut_ms", f"{cut_ms:g}", "a cut that ends before the clip does")
    part = clip.samples[at : at + stays].astype(np.float64)
    early = clip.samples[at + skipped : at + skipped + stays].astype(np.float64)
    share = np.ones(stays)
    join, back = (min(int(length * clip.rate_hz), stays // 4) for length in (JOIN_S, MAKING_UP_S))
    share[:join] = make_rise(join)
    share[stays - back :] = make_rise(back)[::-1]
    samples = clip.samples.astype(np.float64)
    samples[at : at + stays] = part + (early - part) * share[:, None]
    planted = clip.with_samples(samples)
    change = planted.samples[at : at + stays + skipped].astype(np.float64) - clip.samples[at : at + stays + skipped]
    read = _read(clip.samples[at : at + stays + skipped].astype(np.float64), change, skipped)
    strength_ms = 1000 * read / clip.rate_hz
    return Planted(planted, "bad_edit", at / clip.rate_hz, stays / clip.rate_hz, "both", strength_ms, "ms")


def _stays_s(clip: Clip) -> float:
    """Time for which the sound of a loop stays early, s."""
    return min(MADE_UP_AFTER_S, clip.duration_s / 4)


def _read(before: Wave, change: Wave, most: int) -> int:
    """Read by how many frames the changed stretch is early: where it fits what came later best."""
    if not change.any():
        return 0
    first, last = find_first(change), find_last(change) + 1
    early = (before + change)[first:last]
    later = before[first : last + most]
    fit = np.sum([scipy.signal.correlate(later[:, side], early[:, side], "valid", "fft") for side in (0, 1)], axis=0)
    total = np.concatenate([[0.0], np.cumsum((later**2).sum(axis=1))])
    power = total[early.shape[0] :] - total[: -early.shape[0]]
    return int((fit / np.sqrt(np.maximum(power, 1e-12 * max(float(power.max()), 1e-30)))).argmax())
