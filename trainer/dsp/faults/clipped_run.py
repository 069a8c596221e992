"""A clipped run: the tops of one hit cut flat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.audio.clip import Clip
from trainer.dsp.faults.fault import PLACE, Fault, draw_change, find_first, find_last, name_sides, read_change
from trainer.dsp.faults.places import find_peaks
from trainer.dsp.faults.planted import Planted, Wave, find_frame, list_sides, require_sound
from trainer.dsp.move import Effect, Need, Parameter, Settings, complete_settings
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import StretchContents
from trainer.units import db_to_gain, write_number

# The hit, and what belongs to it.
AROUND_S = 0.015
LEAST_PEAK_OVER_RMS_DB = 9.0
MOST_SAMPLES = 1000.0
CLOSEST = 0.02
# Flat to within what two roundings to float32 leave.
FLAT = 1e-6


@dataclass(frozen=True)
class ClippedRun(Fault):
    """Flat tops on one of the highest hits; their strength is how long the longest of them is flat.

    The length is read to a fraction of a sample, from where the wave without the fault crosses the flat level, so
    that any length can be asked for.
    """

    name: str = "clipped_run"
    title: str = "Clipped run"
    unit: str = "samples"
    effect_name: str = "run_samples"
    parameters: tuple[Parameter, ...] = (
        Parameter("level_dbfs", "dBFS", -300.0, 60.0, 0.0),
        PLACE,
    )

    def solve(self, loop: Clip, amount: float, settings: Settings) -> dict[str, float]:
        """Find the level, and if need be another of the highest hits, that gives a run of ``amount`` samples.

        Raises
        ------
        NotReachable
            If no hit has so long a run, with the nearest that there is.
        """
        full = complete_settings(self, settings)
        if not 0 <= amount <= MOST_SAMPLES:
            raise BadValue(self.name, "amount", f"{amount:g}", f"0 to {MOST_SAMPLES:g} samples")
        require_sound(loop, self.name)
        if amount == 0:
            return {**full, "level_dbfs": self.parameters[0].high}
        places = find_peaks(loop)
        picked = min(int(full["place_share"] * len(places)), len(places) - 1)
        nearest = 0.0
        for number in sorted(range(len(places)), key=lambda other: abs(other - picked)):
            level, run = _find_level(_cut(loop, places[number]), amount)
            if abs(run - amount) <= CLOSEST * amount:
                share = (number + 0.5) / len(places)
                return {**full, "place_share": share, "level_dbfs": 20 * float(np.log10(level))}
            nearest = min(nearest, run, key=lambda other: abs(other - amount))
        raise NotReachable(f"clipped run: amount={amount:g}, expected about {nearest:.1f} samples on this excerpt")

    def render(self, loop: Clip, settings: Settings) -> Clip:
        """Clip the hit that is picked; where it stays below the level the loop stays as it is."""
        full = complete_settings(self, settings)
        return self.plant(loop, full).clip if loop.samples.any() else loop

    def plant(self, loop: Clip, settings: Settings) -> Planted:
        """Clip the hit that is picked at the level that is set."""
        places = find_peaks(loop)
        picked = places[min(int(settings["place_share"] * len(places)), len(places) - 1)]
        return _clip_around(loop, picked, db_to_gain(settings["level_dbfs"]), (0, 1))

    def measure(self, before: Clip, after: Clip, settings: Settings, level_gain_db: float = 0.0) -> Effect:
        """Read the flat level and how long the wave without the fault was above it."""
        require_sound(before, self.name)
        change = read_change(before, after, level_gain_db)
        first, last = find_first(change), find_last(change) + 1
        was = before.samples[max(0, first - 1) : last + 1].astype(np.float64)
        level = _read_level(before.samples.astype(np.float64) + change, change)
        run = _measure_run(was, level) if change.any() else 0.0
        lost_db = 20 * float(np.log10(np.abs(was).max() / level)) if change.any() else 0.0
        measured = {"run_samples": run, "cut_off_db": lost_db, "place_s": first / before.rate_hz}
        sentence = (
            f"Flat tops at {write_number(measured['place_s'], 2)} s, up to {write_number(run, 0)} samples long: "
            f"{write_number(lost_db)} dB are cut off."
        )
        return Effect(run, measured, draw_change(before, change), (sentence,))

    def needs(self, contents: StretchContents, settings: Settings) -> tuple[Need, ...]:
        """Ask for peaks that can be cut."""
        expected = f"{LEAST_PEAK_OVER_RMS_DB:g} dB or more: peaks that can be cut off"
        return (Need("peak_over_rms_db", contents.peak_over_rms_db, LEAST_PEAK_OVER_RMS_DB, expected),)


def plant_clipped_run(clip: Clip, at_s: float, run_samples: int, channel: str = "both") -> Planted:
    """Clip the tops within 15 ms around a place so that the longest run of equal samples has a length.

    Parameters
    ----------
    clip : Clip
        The sound.
    at_s : float
        Where, s, inside the clip; best on a peak.
    run_samples : int
        Length of the longest run, 2 or more; where a wave does not allow it, the next longer one is made.
    channel : str
        ``left``, ``right`` or ``both``.

    Returns
    -------
    Planted
        Strength in whole samples of one value, as they stand in the clip.

    Raises
    ------
    BadValue
        If the place lies outside or the clip is silent.
    """
    require_sound(clip, "clipped_run")
    find_frame(clip, at_s, "clipped_run")
    sides = list_sides(channel, "clipped_run")
    magnitudes = np.abs(_cut(clip, at_s)[:, list(sides)]).astype(np.float64)
    levels = np.unique(magnitudes[magnitudes > 0])
    low, high = 0, levels.size - 1
    while low < high:
        middle = (low + high + 1) // 2
        if _count_run(_cut(clip, at_s)[:, list(sides)], float(levels[middle])) >= run_samples:
            low = middle
        else:
            high = middle - 1
    level = float(levels[low]) if levels.size else 1.0
    return _clip_around(clip, at_s, level, sides)


def clip_stretch(clip: Clip, start_s: float, end_s: float, level: float, sides: tuple[int, ...] = (0, 1)) -> Planted:
    """Clip everything between two places at a level, an amplitude, and count the longest run of equal samples.

    Returns
    -------
    Planted
        From the first sample that is cut to the last; strength in whole samples, 0 if none was above the level.
    """
    start, stop = max(0, round(start_s * clip.rate_hz)), min(clip.frames, round(end_s * clip.rate_hz))
    samples = clip.samples.copy()
    part = clip.samples[start:stop]
    samples[start:stop, list(sides)] = np.clip(part[:, list(sides)], -np.float32(level), np.float32(level))
    change = samples[start:stop].astype(np.float64) - part
    run = _count_run(part[:, list(sides)].astype(np.float64), level) if change.any() else 0
    first, length = start + find_first(change), find_last(change) + 1 - find_first(change) if change.any() else 0
    return Planted(
        clip.with_samples(samples),
        "clipped_run",
        first / clip.rate_hz,
        length / clip.rate_hz,
        name_sides(change),
        float(run),
        "samples",
    )


def _clip_around(clip: Clip, at_s: float, level: float, sides: tuple[int, ...]) -> Planted:
    """Clip what surrounds a place at a level."""
    start, stop = _edges(clip, at_s)
    return clip_stretch(clip, start / clip.rate_hz, stop / clip.rate_hz, level, sides)


def _edges(clip: Clip, at_s: float) -> tuple[int, int]:
    at, around = int(round(at_s * clip.rate_hz)), max(1, int(AROUND_S * clip.rate_hz))
    return max(0, at - around), min(clip.frames, at + around)


def _cut(clip: Clip, at_s: float) -> Wave:
    start, stop = _edges(clip, at_s)
    return clip.samples[start:stop].astype(np.float64)


def _find_level(part: Wave, run_samples: float) -> tuple[float, float]:
    """Find the level at which the longest run has a length, to a fraction of a sample: it, and the run it gives."""
    low, high = 0.0, float(np.abs(part).max())
    for _ in range(60):
        middle = (low + high) / 2
        if _measure_run(part, middle) >= run_samples:
            low = middle
        else:
            high = middle
    level = float(np.float32(max(low, 1e-12)))
    return level, _measure_run(part, level)


def _count_run(part: Wave, level: float) -> int:
    """Count the samples of the longest run at or beyond a level, on one side of zero."""
    longest = 0
    for side in part.T:
        for wave in (side, -side):
            first, last = _find_runs(wave >= np.float32(level))
            longest = max(longest, int((last - first).max(initial=0)))
    return longest


def _measure_run(part: Wave, level: float) -> float:
    """Measure how long a wave is beyond a level at most, in samples, between the points at which it crosses it."""
    longest = 0.0
    for side in part.T:
        for wave in (side, -side):
            first, last = _find_runs(wave > level)
            padded = np.concatenate([[-np.inf], wave, [-np.inf]])
            rises = (wave[first] - level) / np.maximum(wave[first] - padded[first], 1e-30)
            falls = (wave[last - 1] - level) / np.maximum(wave[last - 1] - padded[last + 1], 1e-30)
            longest = max(longest, float((last - 1 - first + rises + falls).max(initial=0.0)))
    return longest


def _find_runs(beyond: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Find the first frame of each run and the one after its last."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], beyond, [False]]).astype(np.int8)))
    return edges[0::2], edges[1::2]


def _read_level(after: Wave, change: Wave) -> float:
    """Read the flat level: the median magnitude of what was changed."""
    touched = change != 0
    return max(float(np.median(np.abs(after[touched]))), 1e-12) if touched.any() else 1.0
