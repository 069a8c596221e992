"""A click: two samples out of line, as an edit off a zero or a buffer that came late leaves them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.faults.fault import PLACE, find_first, name_sides
from trainer.dsp.faults.levels import (
    HIGH_PASS_HZ,
    cut_around,
    find_floor,
    measure_local_rms,
    measure_song_rms,
    pass_high,
    to_db,
)
from trainer.dsp.faults.places import find_uncovered, pick_place
from trainer.dsp.faults.planted import Planted, Wave, add_wave, find_frame, list_sides, require_sound
from trainer.dsp.faults.standing_out import StandingOut
from trainer.dsp.move import Parameter, Settings
from trainer.units import write_number

SHAPE = np.array([1.0, -0.5])
AROUND_S = 0.05


@dataclass(frozen=True)
class Click(StandingOut):
    """A click where the top holds least; its strength is how far it stands over what surrounds it above 4 kHz."""

    name: str = "click"
    title: str = "Click"
    unit: str = "dB"
    effect_name: str = "click_db"
    parameters: tuple[Parameter, ...] = (Parameter("click_db", "dB", 0.0, 60.0, 12.0), PLACE)

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Plant a click at the place that is picked."""
        place = pick_place(find_uncovered(loop, (HIGH_PASS_HZ, math.inf)), settings["place_share"])
        return plant_click(loop, place, settings["click_db"])

    def read(self, before: Wave, change: Wave, rate_hz: int, floor: float) -> tuple[int, float]:
        """Read it as `plant_click` defines it."""
        return _read(before, change, rate_hz, floor)

    def describe(self, place_s: float, strength_db: float) -> str:
        """Say where it is and how far it stands out."""
        return (
            f"A click at {write_number(place_s, 2)} s stands {write_number(strength_db)} dB over what "
            "surrounds it above 4 kHz."
        )


def plant_click(clip: Clip, at_s: float, strength_db: float, channel: str = "both") -> Planted:
    """Plant a click.

    Parameters
    ----------
    clip : Clip
        The sound.
    at_s : float
        Where, s, inside the clip.
    strength_db : float
        Highest sample of the click over the RMS value of the sound within 50 ms on either side, both above 4 kHz
        (Butterworth, 24 dB an octave), on the channels it is put on. What surrounds it counts as 60 dB below the
        clip's own level at least.
    channel : str
        ``left``, ``right`` or ``both``.

    Returns
    -------
    Planted
        Strength in dB.

    Raises
    ------
    BadValue
        If the place lies outside or the clip is silent.
    """
    require_sound(clip, "click")
    sides, at = list_sides(channel, "click"), find_frame(clip, at_s, "click")
    around, floor = int(AROUND_S * clip.rate_hz), find_floor(measure_song_rms(clip))
    cut, start = cut_around(clip, at - around, at + around)
    filtered = pass_high(cut[:, list(sides)], clip.rate_hz)
    local = measure_local_rms(filtered, at - around - start, at + around - start, floor)
    alone = pass_high(np.concatenate([[0.0], SHAPE, np.zeros(254)]), clip.rate_hz)
    size = local * 10 ** (strength_db / 20) / float(np.abs(alone).max())
    # Against the wave's own sign, so that a click does not raise the song's peak.
    sign = -1.0 if clip.samples[at, sides[0]] > 0 else 1.0
    planted = add_wave(clip, sign * size * SHAPE, at, sides)
    change = planted.samples[start : start + cut.shape[0]].astype(np.float64) - cut
    _, read_db = _read(cut, change, clip.rate_hz, floor)
    length_s = SHAPE.size / clip.rate_hz
    return Planted(planted, "click", at / clip.rate_hz, length_s, name_sides(change), read_db, "dB")


def _read(before: Wave, change: Wave, rate_hz: int, floor: float) -> tuple[int, float]:
    """Read where a click is and how far it stands out, from what was there and what was added, shape (frames, 2)."""
    sides = [side for side in (0, 1) if change[:, side].any()]
    if not sides:
        return 0, to_db(0.0)
    frame, around = find_first(change), int(AROUND_S * rate_hz)
    local = measure_local_rms(pass_high(before[:, sides], rate_hz), frame - around, frame + around, floor)
    return frame, to_db(float(np.abs(pass_high(change[:, sides], rate_hz)).max()) / local)
