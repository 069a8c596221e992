"""Hiss, hum and rumble: what lies under a whole song, asked as a share of the song's level."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy

from trainer.audio.clip import Clip
from trainer.audio.loops import extend_loop
from trainer.dsp.faults.fault import Fault, draw_change, need_gap, read_change
from trainer.dsp.faults.levels import LOWEST_DB, to_db
from trainer.dsp.faults.planted import Planted, Wave, require_sound
from trainer.dsp.move import Effect, Need, Parameter, Settings
from trainer.measure.contents import StretchContents
from trainer.measure.loudness import measure_loop_level_db
from trainer.measure.weighting import weight_k
from trainer.units import write_number

# Tape and microphone hiss as it is heard: level from here up, softer below.
HISS_FROM_HZ = 2000.0
# The fundamental and its multiples; rectifiers and transformers make them fall slowly.
HARMONICS = 10
RUMBLE_BAND_HZ = (6.0, 16.0)
GAP_S = 0.1
LEAST_GAP_DB = 6.0
SEED = 20
RUN_UP_S = 1.0


class SteadyFault(Fault):
    """A base for what goes on all the time.

    The amount is the K-weighted level of what is added, in per cent of the song's: 0 is none, ten times as much is
    20 dB more, and people's thresholds spread evenly on it, which they would not on dB over an arbitrary floor.
    """

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Compare what was added with the song, and with its softest moment."""
        require_sound(before, self.name)
        change = read_change(before, after, level_gain_db)
        song_db = measure_loop_level_db(before.samples, before.rate_hz)
        added_db = max(measure_loop_level_db(change, before.rate_hz) - song_db, LOWEST_DB)
        percent = 100 * 10 ** (added_db / 20) if change.any() else 0.0
        over_gap_db = added_db - (_measure_gap_db(before) - song_db)
        measured = {self.effect_name: percent, f"{self.name}_over_song_db": added_db}
        measured |= {"over_softest_moment_db": over_gap_db, **self.read_more(change, before.rate_hz)}
        sentence = (
            f"{self.title} {write_number(added_db, 0)} dB against the song, and "
            f"{write_number(over_gap_db, 0, signed=True)} dB against its softest tenth of a second."
        )
        return Effect(percent, measured, draw_change(before, change), (sentence,))

    def read_more(self, change: Wave, rate_hz: int) -> dict[str, float]:
        """Read what else can be read of the kind of sound."""
        return {}

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for a gap in which it shows."""
        return (need_gap(contents, LEAST_GAP_DB),)


@dataclass(frozen=True)
class Hiss(SteadyFault):
    """Noise that is strongest on top, another one on each side."""

    name: str = "hiss"
    title: str = "Hiss"
    unit: str = "percent"
    effect_name: str = "hiss_percent"
    parameters: tuple[Parameter, ...] = (Parameter("hiss_percent", "percent", 0.0, 100.0, 1.0),)

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Lay hiss under the whole loop, without a seam."""
        return plant_hiss(loop, settings["hiss_percent"])


@dataclass(frozen=True)
class Hum(SteadyFault):
    """The mains' frequency and its multiples, the same on both sides."""

    name: str = "hum"
    title: str = "Hum"
    unit: str = "percent"
    effect_name: str = "hum_percent"
    parameters: tuple[Parameter, ...] = (
        Parameter("hum_percent", "percent", 0.0, 100.0, 3.0),
        Parameter("mains_hz", "Hz", 50.0, 60.0, 50.0, (50.0, 60.0)),
    )

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Lay hum under the whole loop; within half a cycle a loop of the mains' frequency, so that it has no seam."""
        whole = max(1, round(settings["mains_hz"] * loop.duration_s)) / loop.duration_s
        return plant_hum(loop, settings["hum_percent"], whole)

    def read_more(self, change: Wave, rate_hz: int) -> dict[str, float]:
        """Read the fundamental: the strongest line."""
        if not change.any():
            return {}
        power = np.abs(np.fft.rfft(change.sum(axis=1))) ** 2
        return {"mains_hz": float(power.argmax() * rate_hz / change.shape[0])}


def plant_hiss(clip: Clip, percent: float, seed: int = SEED) -> Planted:
    """Lay hiss under a clip.

    Parameters
    ----------
    clip : Clip
        The sound.
    percent : float
        K-weighted level of the hiss against the clip's, 0 or more.
    seed : int
        Another number gives other noise of the same kind.

    Returns
    -------
    Planted
        Strength in per cent; the place is the whole clip.

    Raises
    ------
    BadValue
        If the clip is silent.
    """
    sections = scipy.signal.butter(1, HISS_FROM_HZ, "highpass", fs=clip.rate_hz, output="sos")
    return _plant(clip, "hiss", _shape_noise(clip, sections, seed, 2), percent)


def plant_hum(clip: Clip, percent: float, mains_hz: float = 50.0) -> Planted:
    """Lay hum under a clip: a fundamental and nine multiples, falling by 1/k, the even ones half as strong.

    Parameters
    ----------
    clip : Clip
        The sound.
    percent : float
        K-weighted level of the hum against the clip's, 0 or more.
    mains_hz : float
        The fundamental, Hz.

    Returns
    -------
    Planted
        Strength in per cent; the place is the whole clip.

    Raises
    ------
    BadValue
        If the clip is silent.
    """
    turns = mains_hz * np.arange(clip.frames) / clip.rate_hz
    wave = np.zeros(clip.frames)
    for number in range(1, HARMONICS + 1):
        # The mains' wave is nearly symmetric: odd multiples are the stronger ones.
        size = (1.0 if number % 2 else 0.5) / number
        wave += size * np.sin(2 * np.pi * (number * turns + 0.13 * number**2))
    return _plant(clip, "hum", np.repeat(wave[:, None], 2, axis=1), percent)


def plant_rumble(clip: Clip, below_song_db: float, seed: int = SEED) -> Planted:
    """Lay rumble of 6 to 16 Hz under a clip, the same on both sides: nothing to hear, much to see on a meter.

    Parameters
    ----------
    clip : Clip
        The sound.
    below_song_db : float
        RMS level of the rumble below that of the clip, dB, without weighting.
    seed : int
        Another number gives other noise of the same kind.

    Returns
    -------
    Planted
        Strength in dB against the song, negative; the place is the whole clip.

    Raises
    ------
    BadValue
        If the clip is silent.
    """
    require_sound(clip, "rumble")
    sections = scipy.signal.butter(4, RUMBLE_BAND_HZ, "bandpass", fs=clip.rate_hz, output="sos")
    noise = np.repeat(_shape_noise(clip, sections, seed, 1), 2, axis=1)
    song = float(np.sqrt(np.mean(np.square(clip.samples, dtype=np.float64))))
    noise *= song * 10 ** (-below_song_db / 20) / max(float(np.sqrt(np.mean(noise**2))), 1e-30)
    planted = clip.with_samples(clip.samples + noise)
    added = planted.samples.astype(np.float64) - clip.samples
    strength_db = to_db(float(np.sqrt(np.mean(added**2))) / song)
    return Planted(planted, "rumble", 0.0, clip.duration_s, "both", strength_db, "dB")


def _plant(clip: Clip, fault: str, wave: Wave, percent: float) -> Planted:
    """Add a wave at a level against the clip's, and read the level back."""
    require_sound(clip, fault)
    song_db = measure_loop_level_db(clip.samples, clip.rate_hz)
    size_db = measure_loop_level_db(wave, clip.rate_hz)
    if not (math.isfinite(song_db) and math.isfinite(size_db)):
        return Planted(clip, fault, 0.0, clip.duration_s, "both", 0.0, "percent")
    planted = clip.with_samples(clip.samples + wave * (percent / 100 * 10 ** ((song_db - size_db) / 20)))
    added = planted.samples.astype(np.float64) - clip.samples
    added_db = measure_loop_level_db(added, clip.rate_hz)
    strength = 100 * 10 ** ((added_db - song_db) / 20) if added.any() else 0.0
    return Planted(planted, fault, 0.0, clip.duration_s, "both", strength, "percent")


def _shape_noise(clip: Clip, sections: Wave, seed: int, channels: int) -> Wave:
    """Make filtered noise as long as a clip that goes round without a step, shape (frames, channels)."""
    noise = np.random.default_rng(seed).standard_normal((clip.frames, channels))
    run_up = int(RUN_UP_S * clip.rate_hz)
    return np.asarray(scipy.signal.sosfilt(sections, extend_loop(noise, run_up, 0), axis=0)[run_up:])


def _measure_gap_db(loop: Clip) -> float:
    """Measure the K-weighted level of the softest tenth of a second, as `measure_loop_level_db` gives it."""
    power = (weight_k(np.concatenate([loop.samples, loop.samples]), loop.rate_hz)[loop.frames :] ** 2).sum(axis=1)
    width = min(power.size, max(1, int(GAP_S * loop.rate_hz)))
    total = np.concatenate([[0.0], np.cumsum(power)])
    softest = float(((total[width:] - total[:-width]) / width).min())
    level_db = measure_loop_level_db(loop.samples, loop.rate_hz)
    return level_db + 10 * math.log10(max(softest, 1e-30) / max(float(power.mean()), 1e-30))
