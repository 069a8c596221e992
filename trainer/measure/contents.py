"""What a stretch of a song contains, so that a move is only asked where it has something to act on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure.hits import FRAME_S, average_steps, find_hits, find_kicks, find_sibilants, follow_peaks
from trainer.measure.weighting import weight_k

Band = tuple[float, float]
Steps = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# A note is held where the level of 100 Hz to 2 kHz stays within this over this long.
HELD_BAND: Band = (100.0, 2000.0)
HELD_WITHIN_DB = 3.0
HELD_S = 0.3
GAP_S = 0.1


@dataclass(frozen=True)
class SongContents:
    """Short-time powers of a whole song, in steps of 10 ms.

    Parameters
    ----------
    rate_hz : int
        Sampling rate.
    weighted, plain : ndarray, shape (steps,)
        Power, K-weighted (how loud it is) and of everything.
    bands, side_bands : dict of (float, float) to ndarray
        Power of each band, Hz, that was asked for, and of the difference of the channels in it.
    left, right, cross : ndarray, shape (steps,)
        Power of each channel, and mean of their product.
    peak : ndarray, shape (steps,)
        Highest sample magnitude.
    hits, kicks, sibilants : ndarray of bool, shape (steps,)
        Where a drum hit, a low hit, an s stands out of what sounds around it.
    held : ndarray of bool, shape (steps,)
        Where a note or chord is held.
    """

    rate_hz: int
    weighted: Steps
    plain: Steps
    bands: dict[Band, Steps]
    side_bands: dict[Band, Steps]
    left: Steps
    right: Steps
    cross: Steps
    peak: Steps
    hits: Flags
    kicks: Flags
    sibilants: Flags
    held: Flags

    def cut(self, start_s: float, length_s: float) -> StretchContents:
        """Sum up one stretch."""
        first, last = round(start_s / FRAME_S), round((start_s + length_s) / FRAME_S)
        part = slice(first, max(last, first + 1))
        loudness_db, plain_db = _mean_db(self.weighted[part]), _mean_db(self.plain[part])
        a_second = 1.0 / max(length_s, FRAME_S)
        return StretchContents(
            loudness_db=loudness_db,
            softest_db=_to_db(_softest(self.weighted[part], 1.0)),
            gap_db=_to_db(_softest(self.weighted[part], GAP_S)) - loudness_db,
            band_db={band: _mean_db(power[part]) - plain_db for band, power in self.bands.items()},
            side_band_db={
                band: _mean_db(power[part]) - _mean_db(np.maximum(2 * self.bands[band][part] - power[part], 0.0))
                for band, power in self.side_bands.items()
            },
            peak_over_rms_db=_to_db(float(self.peak[part].max()) ** 2) - (plain_db - 3.01),
            hits_per_s=float(self.hits[part].sum()) * a_second,
            kicks_per_s=float(self.kicks[part].sum()) * a_second,
            sibilants_per_s=float(self.sibilants[part].sum()) * a_second,
            held_share=float(self.held[part].mean()),
            side_db=_mean_db(self.left[part] + self.right[part] - 2 * self.cross[part])
            - _mean_db(self.left[part] + self.right[part] + 2 * self.cross[part]),
            correlation=_correlate(self.left[part], self.right[part], self.cross[part]),
        )


@dataclass(frozen=True)
class StretchContents:
    """Facts of one stretch.

    Parameters
    ----------
    loudness_db, softest_db : float
        Ungated K-weighted level, about LUFS, of the whole and of its softest second.
    gap_db : float
        The same of its softest tenth of a second, against the whole, dB.
    band_db : dict of (float, float) to float
        Level of a band against everything, dB.
    side_band_db : dict of (float, float) to float
        Level of the side signal against the middle within a band, dB.
    peak_over_rms_db : float
        Sample peak over RMS level of a channel, dB.
    hits_per_s, kicks_per_s, sibilants_per_s : float
        Drum hits, low hits and s sounds a second.
    held_share : float
        Share of the time in which a note or chord is held, 0 to 1.
    side_db : float
        Level of the side signal against the middle, dB.
    correlation : float
        Of the two channels, -1 to 1.
    under_loudest_db : float
        Loudness against the loudest stretch of the song, dB, 0 or less; 0 as long as nothing is known of others.
    """

    loudness_db: float
    softest_db: float
    gap_db: float
    band_db: dict[Band, float]
    side_band_db: dict[Band, float]
    peak_over_rms_db: float
    hits_per_s: float
    kicks_per_s: float
    sibilants_per_s: float
    held_share: float
    side_db: float
    correlation: float
    under_loudest_db: float = 0.0


def measure_contents(samples: npt.NDArray[np.floating], rate_hz: int, bands_hz: tuple[Band, ...] = ()) -> SongContents:
    """Measure a song's contents once; stretches are then cut from it at little cost.

    Parameters
    ----------
    samples : ndarray, shape (frames, 2)
        The song.
    rate_hz : int
        Sampling rate.
    bands_hz : tuple of (float, float)
        Low and high edge of the bands whose level is wanted; what lies above Nyquist holds nothing. A low edge of 0
        and an infinite high edge leave that side open.

    Returns
    -------
    SongContents
    """
    sides = samples.astype(np.float64)
    left, right = sides[:, :1], sides[:, 1:]
    measured = SongContents(
        rate_hz,
        average_steps(weight_k(sides, rate_hz), rate_hz),
        average_steps(sides, rate_hz),
        {},
        {},
        average_steps(left, rate_hz),
        average_steps(right, rate_hz),
        (average_steps(left + right, rate_hz) - average_steps(left - right, rate_hz)) / 4,
        follow_peaks(samples, rate_hz),
        find_hits(sides, rate_hz),
        find_kicks(sides, rate_hz),
        find_sibilants(sides, rate_hz),
        _find_held(average_steps(pass_band(sides, HELD_BAND, rate_hz), rate_hz)),
    )
    return add_bands(measured, samples, bands_hz)


def add_bands(contents: SongContents, samples: npt.NDArray[np.floating], bands_hz: tuple[Band, ...]) -> SongContents:
    """Measure further bands of the same song, those that are not known yet; see `measure_contents`."""
    new = tuple(band for band in bands_hz if band not in contents.bands)
    if not new:
        return contents
    sides, rate_hz = samples.astype(np.float64), contents.rate_hz
    passed = {band: pass_band(sides, band, rate_hz) for band in new}
    power = {band: average_steps(part, rate_hz) for band, part in passed.items()}
    side = {band: average_steps(part[:, :1] - part[:, 1:], rate_hz) for band, part in passed.items()}
    return replace(contents, bands=contents.bands | power, side_bands=contents.side_bands | side)


def pass_band(sides: npt.NDArray[np.float64], band_hz: Band, rate_hz: int) -> npt.NDArray[np.float64]:
    """Keep a band, 24 dB an octave on either side; an edge of 0 or beyond Nyquist is open."""
    low, high = band_hz
    if low >= 0.49 * rate_hz:
        return np.zeros_like(sides)
    sections = []
    if low > 0:
        sections.append(scipy.signal.butter(4, low, "highpass", fs=rate_hz, output="sos"))
    if high < 0.49 * rate_hz:
        sections.append(scipy.signal.butter(4, high, "lowpass", fs=rate_hz, output="sos"))
    return np.asarray(scipy.signal.sosfilt(np.concatenate(sections), sides, axis=0)) if sections else sides


def _find_held(power: Steps) -> Flags:
    """Find where a smoothed power keeps its level around a step, and is not silence."""
    smooth = scipy.ndimage.uniform_filter1d(power, 5, mode="nearest")
    size = int(HELD_S / FRAME_S)
    highest = scipy.ndimage.maximum_filter1d(smooth, size, mode="nearest")
    lowest = scipy.ndimage.minimum_filter1d(smooth, size, mode="nearest")
    return np.asarray((highest > 1e-9) & (highest < lowest * 10 ** (HELD_WITHIN_DB / 10)))


def _softest(power: Steps, length_s: float) -> float:
    """Power of the softest stretch of a length."""
    width = min(power.size, int(round(length_s / FRAME_S)))
    total = np.concatenate([[0.0], np.cumsum(power)])
    return float(((total[width:] - total[:-width]) / width).min())


def _correlate(left: Steps, right: Steps, cross: Steps) -> float:
    """Correlation of the channels from their powers and product; 1 where one of them is silent."""
    both = float(np.sqrt(left.mean() * right.mean()))
    return float(cross.mean()) / both if both > 1e-20 else 1.0


def _mean_db(power: Steps) -> float:
    return _to_db(float(power.mean()))


def _to_db(power: float) -> float:
    return 10 * float(np.log10(max(power, 1e-20)))
