"""A mix set beside a reference: where the two are compared, how near the mix can be brought, how far a version is."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from trainer.audio.clip import Clip
from trainer.audio.loops import cut_loop
from trainer.dsp.move import Effect, Move, Settings
from trainer.errors import BadValue, NotReachable
from trainer.exercise.excerpts import lies_in_one_section
from trainer.exercise.forms.referring import FURTHER_DB, NEARER_DB
from trainer.exercise.song import Song
from trainer.measure.contents import Band
from trainer.measure.loudness import measure_loop_lufs
from trainer.measure.standards import THIRD_OCTAVE_INDICES, third_octave_centre_hz
from trainer.units import write_frequency, write_number

Levels = npt.NDArray[np.float64]

# What small monitors and most songs have.
LOWEST_HZ, HIGHEST_HZ = 50.0, 16000.0
CENTRES_HZ = np.array([third_octave_centre_hz(index) for index in THIRD_OCTAVE_INDICES])
# A third octave holds four notes, of which a song in another key plays others: three of them are taken together.
OCTAVES_HZ = CENTRES_HZ[:, None] * 10 ** np.array([-0.15, 0.15])
# A mix that would have to be turned further is of another style, or part of it is missing.
FURTHEST = 6.0
SILENCE = 1e-10
PROBE, ROUNDS = 1.0, 2
TURNED_DB, MEAN_NEARER_DB, MEAN_FURTHER_DB = "turned_db", "nearer_offset_db", "further_offset_db"


@dataclass(frozen=True)
class Beside:
    """Hold a loop of a reference beside a loop of a mix.

    Parameters
    ----------
    reference : Clip
        The reference's loop, as long as the mix's.
    mix : Clip
        The mix's loop, brought as near to it as the move can.
    turned : float
        By how much of the move, in its unit.
    bands : tuple of (float, float)
        Where the two are compared: low and high edge, Hz.
    """

    reference: Clip
    mix: Clip
    turned: float
    bands: tuple[Band, ...]

    def compare(self, effect: Effect, nearer: Clip, further: Clip) -> Effect:
        """Add to a move's effect how far both versions are from the reference, as they are played, and say that."""
        other = read_levels(self.reference)
        away = [read_levels(version) - other for version in (nearer, further)]
        used = choose_thirds(self.bands)
        means = [float(each[used].mean()) for each in away]
        rms = [float(np.sqrt(np.mean(each[used] ** 2))) for each in away]
        measured = {
            TURNED_DB: self.turned,
            NEARER_DB: rms[0],
            FURTHER_DB: rms[1],
            MEAN_NEARER_DB: means[0],
            MEAN_FURTHER_DB: means[1],
        }
        said = (self._tell_sides(*away), self._tell_distances(rms, away[1]), self._tell_turn())
        return replace(effect, measured={**effect.measured, **measured}, sentences=said)

    def _tell_sides(self, nearer: Levels, further: Levels) -> str:
        """Say on which side of the reference both versions are, range by range."""
        ranges = [(_name_band(band), thirds) for band in self.bands if (thirds := choose_thirds((band,))).any()]
        sides = " and ".join(f"{_sign(further[thirds].mean())} dB {where}" for where, thirds in ranges)
        others = " and ".join(_sign(nearer[thirds].mean()) for _, thirds in ranges)
        return f"Beside the reference the other version has {sides}, the nearer one {others} dB."

    def _tell_distances(self, rms_db: list[float], further: Levels) -> str:
        """Say how far both are, and where the version that is further off lies furthest."""
        used = choose_thirds(self.bands)
        place = int(np.flatnonzero(used)[np.abs(further[used]).argmax()])
        where = write_frequency(float(f"{CENTRES_HZ[place]:.2g}"))
        return (
            f"Octave by octave it lies {write_number(rms_db[1])} dB away, most about {where}, "
            f"{_sign(further[place])} dB; the nearer one {write_number(rms_db[0])} dB."
        )

    def _tell_turn(self) -> str:
        """Say what brought the mix near."""
        if self.turned == 0:
            return "The mix was near as it came."
        return f"To come near, the mix was turned by {_sign(self.turned)} dB first, in both."


def set_beside(song: Song, loop: Clip, move: Move, settings: Settings, rng: np.random.Generator) -> Beside:
    """Choose a loop of a song's reference by lot, and bring a loop of the song near to it.

    Parameters
    ----------
    song : Song
        With a reference.
    loop : Clip
        Of the song, as it was cut.
    move, settings : Move, Settings
        What the question is about; it also says in which bands the two are compared.
    rng : numpy.random.Generator
        Chooses among the reference's bars.

    Returns
    -------
    Beside
        The turn is the one that leaves the least distance, to a tenth.

    Raises
    ------
    BadValue
        If the song has no reference, the reference no stretch of that length, or the move no band that is compared.
    NotReachable
        If the mix is too far off to be brought near.
    """
    reference = cut_reference(song, loop.frames, rng)
    bands = move.bands_hz(settings)
    used = choose_thirds(bands)
    if not used.any():
        expected = f"a third octave from {write_frequency(LOWEST_HZ)} to {write_frequency(HIGHEST_HZ)} at least"
        raise BadValue(move.name, "bands_hz", bands, expected)
    wished = read_levels(reference)[used]

    def make(amount: float) -> Clip:
        return move.render(loop, move.solve(loop, amount, settings))

    def miss(amount: float) -> Levels:
        return np.asarray(read_levels(make(amount))[used] - wished)

    turned = 0.0
    for _ in range(ROUNDS):
        now = miss(turned)
        shape = (miss(turned + PROBE) - now) / PROBE
        turned -= float(now @ shape / max(float(shape @ shape), 1e-9))
        if not abs(turned) <= FURTHEST:
            held = write_number(turned, 1, signed=True)
            raise NotReachable(f"{move.name}: turned_db={held}, expected {FURTHEST:g} or less: a reference so far off")
    turned = round(turned, 1) + 0.0
    return Beside(reference, make(turned), turned, bands)


def cut_reference(song: Song, frames: int, rng: np.random.Generator) -> Clip:
    """Cut a loop of a song's reference at bars by lot, within one of its sections."""
    entry, clip = song.entry.reference, song.reference
    if entry is None or clip is None:
        raise BadValue(song.entry.title, "reference", "none", "a reference song of the same style")
    first, bar = entry.bars.first_s, entry.bars.length_s
    starts = [round((first + number * bar) * clip.rate_hz) for number in range(int(clip.duration_s / bar) + 1)]
    starts = [start for start in starts if lies_in_one_section(entry.sections, (start, frames), clip.rate_hz)]
    if not starts:
        raise BadValue(entry.title, "section_s", "too short", f"{write_number(frames / clip.rate_hz)} s in one section")
    return cut_loop(clip, starts[int(rng.integers(len(starts)))], frames)


def read_levels(loop: Clip) -> Levels:
    """Read the level in an octave about each of `THIRD_OCTAVE_INDICES`, dB against the loop's loudness.

    The loop is a period of what is heard: its spectrum is exact without a window.
    """
    lines = np.abs(np.fft.rfft(loop.samples.astype(np.float64), axis=0)) ** 2
    total = np.concatenate([[0.0], np.cumsum(lines.mean(axis=1))]) * 2 / loop.frames**2
    places = np.searchsorted(np.fft.rfftfreq(loop.frames, 1 / loop.rate_hz), OCTAVES_HZ)
    power = total[places[:, 1]] - total[places[:, 0]]
    loudness_lufs = measure_loop_lufs(loop.samples, loop.rate_hz)
    return np.asarray(10 * np.log10(np.maximum(power, SILENCE)) - loudness_lufs)


def choose_thirds(bands: tuple[Band, ...]) -> npt.NDArray[np.bool_]:
    """Choose the third octaves whose centre lies within one of the bands, and within what is compared at all."""
    at_hz = CENTRES_HZ
    inside = np.zeros(at_hz.size, dtype=bool)
    for low_hz, high_hz in bands:
        inside |= (at_hz > 0.99 * low_hz) & (at_hz < 1.01 * high_hz)
    return inside & (at_hz > LOWEST_HZ) & (at_hz < HIGHEST_HZ)


def _name_band(band: Band) -> str:
    """Name a range by its inner edge, or by both."""
    low, high = band
    if low <= LOWEST_HZ:
        return f"below {write_frequency(high)}"
    if not math.isfinite(high) or high >= HIGHEST_HZ:
        return f"above {write_frequency(low)}"
    return f"from {write_frequency(low)} to {write_frequency(high)}"


def _sign(value: float) -> str:
    return write_number(float(value), 1, signed=True)
