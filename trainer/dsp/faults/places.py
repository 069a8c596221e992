"""Where a fault can be put: spots where little covers it, spots where there is something to spoil."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.measure.contents import Band, pass_band
from trainer.measure.hits import FRAME_S, average_steps

AROUND_S = 0.1
SPACING_S = 0.4
# Spots lie at least so far from the ends, where there is room for it.
MARGIN_S = 0.25
SOFTEST_SHARE = 0.3
LOUDEST_SHARE = 0.3
# What lies so far under the clip's loudest moment is a gap between songs or a tail, not music.
MUSIC_DB = 50.0


def find_uncovered(clip: Clip, band_hz: Band, spacing_s: float = SPACING_S) -> tuple[float, ...]:
    """Find moments within the music at which a band holds least.

    Parameters
    ----------
    clip : Clip
        The song or loop.
    band_hz : (float, float)
        Where the fault sounds, Hz.
    spacing_s : float
        Least time between two of them, s.

    Returns
    -------
    tuple of float
        Places, s, in their order in time; one at least.
    """
    return _spread(clip, -_follow(clip, band_hz), SOFTEST_SHARE, spacing_s)


def find_sounding(clip: Clip, spacing_s: float = SPACING_S) -> tuple[float, ...]:
    """Find the fullest moments, at which something would be missed; as `find_uncovered`."""
    return _spread(clip, _follow(clip, (100.0, np.inf)), LOUDEST_SHARE, spacing_s)


def find_peaks(clip: Clip, spacing_s: float = SPACING_S) -> tuple[float, ...]:
    """Find the highest samples, at least ``spacing_s`` apart, within 6 dB of the highest of all; as above."""
    left = np.abs(clip.samples).max(axis=1).astype(np.float64)
    margin, spacing = _margin(clip), max(1, int(spacing_s * clip.rate_hz))
    left[:margin] = left[left.size - margin :] = 0.0
    tallest = float(left.max(initial=0.0))
    places: list[float] = []
    while len(places) < 200:
        place = int(left.argmax())
        if left[place] <= 0 or left[place] < tallest / 2:
            break
        places.append(place / clip.rate_hz)
        left[max(0, place - spacing) : place + spacing + 1] = 0.0
    return tuple(sorted(places)) or (clip.duration_s / 2,)


def pick_place(places: tuple[float, ...], share: float) -> float:
    """Pick one of the places by a share of 0 to 1: 0 is the first, 1 the last."""
    return places[min(int(share * len(places)), len(places) - 1)]


def _follow(clip: Clip, band_hz: Band) -> npt.NDArray[np.float64]:
    """Follow a band's level in dB, in steps of 10 ms, over 100 ms; minus infinity outside the music for the softest."""
    sides = clip.samples.astype(np.float64)
    around = max(1, int(round(AROUND_S / FRAME_S)))
    power = scipy.ndimage.uniform_filter1d(average_steps(pass_band(sides, band_hz, clip.rate_hz), clip.rate_hz), around)
    whole = scipy.ndimage.uniform_filter1d(average_steps(sides, clip.rate_hz), around)
    level = 10 * np.log10(np.maximum(power, 1e-20))
    silent = whole < whole.max(initial=0.0) * 10 ** (-MUSIC_DB / 10)
    return np.asarray(np.where(silent, np.nan, level))


def _spread(clip: Clip, wished: npt.NDArray[np.float64], share: float, spacing_s: float) -> tuple[float, ...]:
    """Take the steps with the highest values first, each apart from the ones taken, of the best share of all."""
    margin, spacing = _margin(clip) / clip.rate_hz / FRAME_S, spacing_s / FRAME_S
    numbers = np.arange(wished.size)
    possible = np.isfinite(wished) & (numbers >= margin) & (numbers + 1 <= wished.size - margin)
    if not possible.any():
        return (clip.duration_s / 2,)
    least = float(np.quantile(wished[possible], 1 - share))
    taken: list[int] = []
    for number in numbers[possible][np.argsort(-wished[possible], kind="stable")].tolist():
        if wished[number] < least:
            break
        if all(abs(number - other) >= spacing for other in taken):
            taken.append(number)
    return tuple(sorted(min((number + 0.5) * FRAME_S, clip.duration_s * 0.999) for number in taken))


def _margin(clip: Clip) -> int:
    return min(int(MARGIN_S * clip.rate_hz), clip.frames // 4)
