"""What a move added to a song, apart from what a filter could have done to it.

A bend of the wave turns its own loud parts down a little, and bright parts not as dark ones. That is a matter of level
and tone; the loudness match takes most of it away. So the song as it went on is taken to be the best copy of it that a
smooth filter can make: in each octave and channel, the gain and phase that leave least. What is left is what was added.

On a sine this is total harmonic distortion. On noise with a normal distribution it is what J. J. Bussgang's theorem
("Crosscorrelation Functions of Amplitude-Distorted Gaussian Signals", 1952; from memory) calls uncorrelated. Whole
octaves, and nothing finer, because a filter that could pick single lines would explain the overtones of a steady note,
which lie on lines that the note has; even so, a single note held through a whole loop reads low. On music it makes
little difference: one gain for all and third octaves were within half a dB of octaves on songs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.errors import BadValue
from trainer.measure.standards import THIRD_OCTAVE_INDICES, third_octave_centre_hz, third_octave_edges_hz

HIGHEST_HZ = 20000.0
LOWEST_HZ = 16.0
OCTAVE_CENTRES_HZ = tuple(1000.0 * 2.0**step for step in range(-5, 5))
# An octave in which the song has next to nothing must not be lifted to explain what was added there.
MOST_LIFT = 4.0
TRACE_STEP_S = 0.05
LOWEST_TRACE_DB = -120.0
# Less than this of the song, in power, is rounding.
LEAST_SHARE = 1e-18

Lines = npt.NDArray[np.complex128]


@dataclass(frozen=True)
class Added:
    """Hold what was added to a loop.

    Parameters
    ----------
    percent : float
        Amplitude of the added part in percent of the song as it went on; 1 % is 40 dB below the song.
    octaves : tuple of (float, float)
        Centre, Hz, and share of the added power, 0 to 1, of each octave.
    third_octaves : tuple of (float, float)
        Centre, Hz, and level of the added part against the song's in the same third octave, dB.
    """

    percent: float
    octaves: tuple[tuple[float, float], ...]
    third_octaves: tuple[tuple[float, float], ...]

    @property
    def below_song_db(self) -> float:
        """Level of the added part against the song, dB; minus infinity if nothing was added."""
        return 20 * math.log10(self.percent / 100) if self.percent > 0 else -math.inf

    @property
    def main_octave_hz(self) -> float:
        """Centre of the octave that holds the most of what was added."""
        return max(self.octaves, key=lambda octave: octave[1])[0]


class AddedMeter:
    """Measure what was added to one loop, as often as wished.

    Parameters
    ----------
    before : Clip
        The loop without the move.

    Raises
    ------
    BadValue
        If there is no sound in it.
    """

    def __init__(self, before: Clip) -> None:
        self._rate_hz, self._frames = before.rate_hz, before.frames
        self._width = before.rate_hz / max(1, before.frames)
        self._before = _transform(before)
        self._edges = self._find_octaves()
        if not (np.abs(self._before[self._edges[0] : self._edges[-1]]) ** 2).sum() > 0:
            raise BadValue("loop", "sound", "none", "sound between 20 Hz and 20 kHz")

    def measure(self, after: Clip) -> Added:
        """Measure what is new in ``after``, whatever its level."""
        song, rest = self._explain(_transform(after))
        power = [(np.abs(lines) ** 2).sum(axis=1) for lines in (song, rest)]
        whole, new = (float(lines.sum()) for lines in power)
        if not whole > 0:
            raise BadValue("loop", "after", "another sound", "the same song, changed")
        share = new / whole
        sums = [np.concatenate([[0.0], np.cumsum(lines)]) for lines in power]
        per_octave = np.diff(sums[1][np.asarray(self._edges) - self._edges[0]]) / max(new, 1e-300)
        octaves = tuple(zip(OCTAVE_CENTRES_HZ, per_octave.tolist(), strict=False))
        percent = 100 * math.sqrt(share) if share > LEAST_SHARE else 0.0
        return Added(percent, octaves, self._compare_third_octaves(sums))

    def separate(self, after: Clip) -> npt.NDArray[np.float64]:
        """Give the added part as sound, shape (frames, 2), at the level that it has in ``after``."""
        lines = np.zeros_like(self._before)
        lines[self._edges[0] : self._edges[-1]] = self._explain(_transform(after))[1]
        return np.asarray(scipy.fft.irfft(lines * self._frames, n=self._frames, axis=0))

    def trace(self, after: Clip) -> tuple[tuple[float, float], ...]:
        """Follow the added part over time: s, and level against the whole song in ``after``, dB."""
        length = max(1, round(TRACE_STEP_S * self._rate_hz))
        steps = max(1, self._frames // length)
        added = self.separate(after)[: steps * length]
        song = float((after.samples.astype(np.float64) ** 2).mean())
        power = (added**2).reshape(steps, -1).mean(axis=1) / max(song, 1e-30)
        levels = 10 * np.log10(np.maximum(power, 10 ** (LOWEST_TRACE_DB / 10)))
        return tuple(((step + 0.5) * length / self._rate_hz, float(level)) for step, level in enumerate(levels))

    def _explain(self, after: Lines) -> tuple[Lines, Lines]:
        """Split what came out into the song, filtered, and the rest; from the first octave's edge to the last."""
        first, last = self._edges[0], self._edges[-1]
        most = MOST_LIFT * np.abs(_fit(self._before[first:last], after[first:last]))
        song = np.zeros_like(after[first:last])
        for low, high in zip(self._edges, self._edges[1:], strict=False):
            gain = _fit(self._before[low:high], after[low:high])
            gain *= np.minimum(1.0, most / np.maximum(np.abs(gain), 1e-300))
            song[low - first : high - first] = gain * self._before[low:high]
        return song, after[first:last] - song

    def _find_octaves(self) -> list[int]:
        """Find the lines at which octaves begin; the last entry is the end."""
        highest = min(HIGHEST_HZ, 0.499 * self._rate_hz)
        centres = [centre for centre in OCTAVE_CENTRES_HZ[1:] if centre / math.sqrt(2) < highest]
        limits = [LOWEST_HZ, *(centre / math.sqrt(2) for centre in centres), highest]
        return [max(1, math.ceil(limit / self._width)) for limit in limits]

    def _compare_third_octaves(self, sums: list[npt.NDArray[np.float64]]) -> tuple[tuple[float, float], ...]:
        """Level of the added part against the song, band by band, where both are."""
        pairs = []
        for index in THIRD_OCTAVE_INDICES:
            places = [math.ceil(edge / self._width) - self._edges[0] for edge in third_octave_edges_hz(index)]
            low, high = np.clip(places, 0, sums[0].size - 1)
            song, new = (float(total[high] - total[low]) for total in sums)
            if song > 0 and new > 1e-14 * song:
                pairs.append((third_octave_centre_hz(index), 10 * math.log10(new / song)))
        return tuple(pairs)


def measure_added(before: Clip, after: Clip) -> Added:
    """Measure what a move added between two rounds of one loop; the level of either does not matter.

    Parameters
    ----------
    before, after : Clip
        The loop without and with the move, in step, of one length and rate.

    Returns
    -------
    Added

    Raises
    ------
    BadValue
        If one of them is silent.
    """
    return AddedMeter(before).measure(after)


def _fit(was: Lines, became: Lines) -> Lines:
    """Find the gain and phase of each channel that explain most of what became of some lines."""
    power = (np.abs(was) ** 2).sum(axis=0)
    return np.asarray((was.conj() * became).sum(axis=0) / np.maximum(power, 1e-300))


def _transform(loop: Clip) -> Lines:
    """Spectrum of both channels, shape (lines, 2), scaled so that no size of loop matters."""
    spectrum = scipy.fft.rfft(loop.samples.T.astype(np.float64), axis=1).T
    return np.asarray(spectrum / max(1, loop.frames))
