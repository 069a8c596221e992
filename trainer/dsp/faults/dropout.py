"""A dropout: a hole in the sound."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.audio.fades import make_rise
from trainer.dsp.faults.fault import PLACE, Fault, draw_change, read_change
from trainer.dsp.faults.places import find_sounding, pick_place
from trainer.dsp.faults.planted import Planted, Wave, find_frame, list_sides, require_sound
from trainer.dsp.move import Effect, Need, Parameter, Settings
from trainer.errors import BadValue
from trainer.measure.contents import StretchContents
from trainer.units import write_number

# Short enough for a hole, long enough not to be a click.
EDGE_S = 0.001
MOST_UNDER_LOUDEST_DB = 12.0


@dataclass(frozen=True)
class Dropout(Fault):
    """A hole where the sound is full; its strength is its length at half of the amplitude."""

    name: str = "dropout"
    title: str = "Dropout"
    unit: str = "ms"
    effect_name: str = "dropout_ms"
    parameters: tuple[Parameter, ...] = (Parameter("dropout_ms", "ms", 0.0, 1000.0, 20.0), PLACE)

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Take the amount as the length; refuse one of half of the loop and more."""
        full = super().solve(loop, amount, settings)
        if amount / 1000 >= loop.duration_s / 2:
            raise BadValue(self.name, "dropout_ms", f"{amount:g}", "less than half of the loop")
        return full

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Make a hole at the place that is picked, or as near to it and as long as the loop has room."""
        length_s = min(settings["dropout_ms"] / 1000, loop.duration_s - 4 * EDGE_S)
        if length_s <= 0:
            return Planted(loop, self.name, 0.0, 0.0, "both", 0.0, "ms")
        place = pick_place(find_sounding(loop), settings["place_share"]) - length_s / 2
        return plant_dropout(loop, min(max(place, EDGE_S), loop.duration_s - length_s - EDGE_S), length_s * 1000)

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read for how long the sound was down by more than half."""
        require_sound(before, self.name)
        change = read_change(before, after, level_gain_db)
        first, last = _read(before.samples.astype(np.float64), change)
        length_ms = 1000 * (last - first) / before.rate_hz
        measured = {"dropout_ms": length_ms, "place_s": first / before.rate_hz}
        sentence = f"A hole of {write_number(length_ms)} ms at {write_number(measured['place_s'], 2)} s."
        return Effect(length_ms, measured, draw_change(before, change), (sentence,))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a full part: a hole in a soft one is part of the music."""
        expected = f"{write_number(-MOST_UNDER_LOUDEST_DB, 0)} dB or more against the loudest part"
        return (Need("loudness_under_loudest_db", contents.under_loudest_db, -MOST_UNDER_LOUDEST_DB, expected),)


def plant_dropout(clip: Clip, at_s: float, length_ms: float, channel: str = "both") -> Planted:
    """Make a hole with edges of 1 ms.

    Parameters
    ----------
    clip : Clip
        The sound.
    at_s : float
        Where it begins, s, inside the clip.
    length_ms : float
        From half of the amplitude on one edge to half on the other, ms, 0 or more.
    channel : str
        ``left``, ``right`` or ``both``.

    Returns
    -------
    Planted
        Strength in ms.

    Raises
    ------
    BadValue
        If the place lies outside or the clip is silent.
    """
    require_sound(clip, "dropout")
    sides, at = list_sides(channel, "dropout"), find_frame(clip, at_s, "dropout")
    frames = int(round(length_ms / 1000 * clip.rate_hz))
    edge = min(int(EDGE_S * clip.rate_hz) // 2 * 2, frames // 2 * 2)
    fall = make_rise(edge)[::-1]
    gain = np.concatenate([fall, np.zeros(max(frames - edge, 0)), fall[::-1]])
    first = at - edge // 2
    samples = clip.samples.astype(np.float64)
    start, stop = max(0, first), min(clip.frames, first + gain.size)
    part = samples[start:stop].copy()
    samples[start:stop, list(sides)] *= gain[start - first : stop - first, None]
    begins, ends = _read(part, samples[start:stop] - part)
    read_ms = 1000 * (ends - begins) / clip.rate_hz
    return Planted(clip.with_samples(samples), "dropout", at / clip.rate_hz, read_ms / 1000, channel, read_ms, "ms")


def _read(before: Wave, change: Wave) -> tuple[int, int]:
    """Read the first frame at which more than half of the amplitude is missing, and the one after the last."""
    gone = (np.abs(change) > 0.5 * np.abs(before)) & (before != 0)
    frames = np.flatnonzero(gone.any(axis=1))
    return (int(frames[0]), int(frames[-1]) + 1) if frames.size else (0, 0)
