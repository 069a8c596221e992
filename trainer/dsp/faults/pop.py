"""A pop: a breath into the microphone or a bump, nearly all of it below 100 Hz."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.faults.fault import (
    PLACE,
    find_first,
    find_last,
    name_sides,
)
from trainer.dsp.faults.levels import (
    LOW_PASS_HZ,
    cut_around,
    find_floor,
    measure_local_rms,
    measure_song_rms,
    pass_low,
    to_db,
)
from trainer.dsp.faults.places import find_uncovered, pick_place
from trainer.dsp.faults.planted import Planted, Wave, add_wave, find_frame, list_sides, require_sound
from trainer.dsp.faults.standing_out import StandingOut
from trainer.dsp.move import Parameter, Settings
from trainer.units import write_number

CENTRE_HZ = 40.0
LENGTH_S = 0.08
AROUND_S = 0.25


@dataclass(frozen=True)
class Pop(StandingOut):
    """A pop where the bass holds least; its strength is its level over the song below 100 Hz around it."""

    name: str = "pop"
    title: str = "Pop"
    unit: str = "dB"
    effect_name: str = "pop_db"
    parameters: tuple[Parameter, ...] = (Parameter("pop_db", "dB", 0.0, 48.0, 12.0), PLACE)

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Plant a pop at the place that is picked."""
        place = pick_place(find_uncovered(loop, (0.0, LOW_PASS_HZ)), settings["place_share"])
        return plant_pop(loop, place, settings["pop_db"])

    def read(self, before: Wave, change: Wave, rate_hz: int, floor: float) -> tuple[int, float]:
        """Read it as `plant_pop` defines it."""
        return _read(before, change, rate_hz, floor)

    def describe(self, place_s: float, strength_db: float) -> str:
        """Say where it is and how far it stands out."""
        return (
            f"A pop at {write_number(place_s, 2)} s, {write_number(strength_db)} dB over the song below "
            "100 Hz around it."
        )


def plant_pop(clip: Clip, at_s: float, strength_db: float, channel: str = "both") -> Planted:
    """Plant a pop: 80 ms at 40 Hz under a Hann window.

    Parameters
    ----------
    clip : Clip
        The sound.
    at_s : float
        Where it begins, s, inside the clip.
    strength_db : float
        RMS value of the pop while it lasts over that of the sound from 250 ms before to 250 ms after its
        beginning, both below 100 Hz (Butterworth, 24 dB an octave). What surrounds it counts as 60 dB below the
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
    require_sound(clip, "pop")
    sides, at = list_sides(channel, "pop"), find_frame(clip, at_s, "pop")
    around, floor = int(AROUND_S * clip.rate_hz), find_floor(measure_song_rms(clip))
    cut, start = cut_around(clip, at - around, at + around)
    shape = _shape(clip.rate_hz)
    alone = np.zeros_like(cut)
    room = min(shape.size, alone.shape[0] - (at - start))
    alone[at - start : at - start + room, list(sides)] = shape[:room, None]
    _, unit_db = _read(cut, alone, clip.rate_hz, floor)
    planted = add_wave(clip, shape * 10 ** ((strength_db - unit_db) / 20), at, sides)
    change = planted.samples[start : start + cut.shape[0]].astype(np.float64) - cut
    _, read_db = _read(cut, change, clip.rate_hz, floor)
    return Planted(planted, "pop", at / clip.rate_hz, LENGTH_S, name_sides(change), read_db, "dB")


def _shape(rate_hz: int) -> Wave:
    """Two to three swings without a constant part."""
    frames = max(4, int(LENGTH_S * rate_hz))
    time_s = (np.arange(frames) - (frames - 1) / 2) / rate_hz
    return np.asarray(np.sin(2 * np.pi * CENTRE_HZ * time_s) * np.hanning(frames + 2)[1:-1])


def _read(before: Wave, change: Wave, rate_hz: int, floor: float) -> tuple[int, float]:
    """Read where a pop begins and how strong it is, from what was there and what was added, shape (frames, 2)."""
    sides = [side for side in (0, 1) if change[:, side].any()]
    if not sides:
        return 0, to_db(0.0)
    first, last, around = find_first(change), find_last(change), int(AROUND_S * rate_hz)
    local = measure_local_rms(pass_low(before[:, sides], rate_hz), first - around, first + around, floor)
    added = pass_low(change[:, sides], rate_hz)[first : last + 1]
    return first, to_db(float(np.sqrt(np.mean(added**2))) / local)
