"""Inter-sample overs: a wave that rises above full scale between samples that do not. A lesson with the meter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.fades import make_rise
from trainer.dsp.faults.fault import PLACE, Fault, draw_change, find_first, find_last, name_sides, read_change
from trainer.dsp.faults.places import find_peaks, pick_place
from trainer.dsp.faults.planted import Planted, Wave, find_frame, list_sides, require_sound
from trainer.dsp.move import Effect, Parameter, Settings
from trainer.errors import BadValue
from trainer.measure.true_peak import measure_true_peak
from trainer.units import db_to_gain, write_number

LENGTH_S = 0.004
# A sine of a quarter of the rate, sampled at 45 degrees, is 3.01 dB higher than its samples.
MOST_DB = 3.0
HIGHEST_DB = 3.0103
BESIDE_FRAMES = 64


@dataclass(frozen=True)
class IntersampleOver(Fault):
    """A few milliseconds on one of the highest hits that are higher between their samples than at them.

    Their samples are as high as the loop's highest; the strength is how far the true peak is above the samples.
    """

    name: str = "intersample_over"
    title: str = "Inter-sample over"
    unit: str = "dB"
    effect_name: str = "over_samples_db"
    parameters: tuple[Parameter, ...] = (Parameter("over_samples_db", "dB", 0.0, MOST_DB, 1.0), PLACE)

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Put the over on the hit that is picked."""
        place = pick_place(find_peaks(loop), settings["place_share"])
        highest_dbfs = 20 * float(np.log10(np.abs(loop.samples).max()))
        return plant_intersample_over(loop, place, settings["over_samples_db"], "both", highest_dbfs)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read how far the true peak is above the highest sample where something was changed."""
        require_sound(before, self.name)
        change = read_change(before, after, level_gain_db)
        first = find_first(change)
        over_db = _read(before.samples.astype(np.float64) + change, change, before.rate_hz)
        measured = {"over_samples_db": over_db, "place_s": first / before.rate_hz}
        sentence = (
            f"At {write_number(measured['place_s'], 2)} s the wave rises {write_number(over_db, 2)} dB above its "
            "highest sample."
        )
        return Effect(over_db, measured, draw_change(before, change), (sentence,))


def plant_intersample_over(
    clip: Clip, at_s: float, over_db: float, channel: str = "both", sample_peak_dbfs: float = 0.0
) -> Planted:
    """Replace 4 ms by a tone of a quarter of the rate that is higher between its samples than at them.

    Parameters
    ----------
    clip : Clip
        The sound.
    at_s : float
        Where, s, inside the clip.
    over_db : float
        True peak over the highest sample, dB, 0 to 3: a sine of a quarter of the rate whose samples lie at 45
        degrees is 3.01 dB higher than they are.
    channel : str
        ``left``, ``right`` or ``both``.
    sample_peak_dbfs : float
        Highest sample, dBFS; at 0, the true peak is ``over_db`` above full scale.

    Returns
    -------
    Planted
        Strength in dB, as the true-peak meter reads it.

    Raises
    ------
    BadValue
        If the place or the strength is out of bounds or the clip is silent.
    """
    require_sound(clip, "intersample_over")
    if not 0 <= over_db <= MOST_DB:
        raise BadValue("intersample_over", "over_db", f"{over_db:g}", f"0 to {MOST_DB:g}")
    sides, at = list(list_sides(channel, "intersample_over")), find_frame(clip, at_s, "intersample_over")
    frames = min(int(LENGTH_S * clip.rate_hz) // 4 * 4, clip.frames)
    first = min(max(0, at - frames // 2), clip.frames - frames)
    rise = make_rise(frames // 4)
    share = np.concatenate([rise, np.ones(frames - 2 * rise.size), rise[::-1]])[:, None]
    samples = clip.samples.astype(np.float64)
    was = samples[first : first + frames].copy()
    level, wished_db, read_db = db_to_gain(sample_peak_dbfs), over_db, 0.0
    for _ in range(4):
        tone = level * _make_tone(frames, wished_db)[:, None] * share
        part = (was * (1 - share))[:, sides] + tone
        samples[first : first + frames, sides] = part * min(1.0, level / float(np.abs(part).max()))
        change = samples[first : first + frames] - was
        read_db = _read_part(samples[:, sides], first, frames, clip.rate_hz)
        wished_db = min(max(wished_db + over_db - read_db, 0.0), HIGHEST_DB)
    where, length_s = first / clip.rate_hz, frames / clip.rate_hz
    planted = clip.with_samples(samples)
    return Planted(planted, "intersample_over", where, length_s, name_sides(change), read_db, "dB")


def _make_tone(frames: int, over_db: float) -> Wave:
    """Make a sine of a quarter of the rate, its highest samples at 1, its crest so much higher."""
    phase = float(np.arccos(db_to_gain(-over_db)))
    return np.asarray(np.cos(np.pi / 2 * np.arange(frames) + phase) * db_to_gain(over_db))


def _read(after: Wave, change: Wave, rate_hz: int) -> float:
    """Read how far the true peak is above the samples where something was changed, on the sides that were."""
    sides = [side for side in (0, 1) if change[:, side].any()]
    if not sides:
        return 0.0
    first = find_first(change)
    return _read_part(after[:, sides], first, find_last(change) + 1 - first, rate_hz)


def _read_part(samples: Wave, first: int, frames: int, rate_hz: int) -> float:
    """Read how far the true peak is above the highest sample in a stretch, dB."""
    start = max(0, first - BESIDE_FRAMES)
    part = samples[start : first + frames + BESIDE_FRAMES]
    inside = part[first - start : first - start + frames]
    return max(0.0, measure_true_peak(part, rate_hz).dbtp - 20 * float(np.log10(np.abs(inside).max())))
