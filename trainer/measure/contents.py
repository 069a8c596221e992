"""What a stretch of a song contains, so that a move is only asked where it has something to act on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import butter, sosfilt

from trainer.measure.hits import FRAME_S, average_steps, find_hits, follow_peaks
from trainer.measure.weighting import weight_k


@dataclass(frozen=True)
class SongContents:
    """Short-time powers of a whole song, in steps of 10 ms.

    Parameters
    ----------
    rate_hz : int
        Sampling rate.
    weighted : ndarray, shape (steps,)
        K-weighted power: how loud it is.
    plain : ndarray, shape (steps,)
        Power of everything.
    above : dict of float to ndarray
        Power above each corner, Hz, that was asked for.
    peak : ndarray, shape (steps,)
        Highest sample magnitude.
    hits : ndarray of bool, shape (steps,)
        Where a drum hit stands out of what sounds around it.
    """

    rate_hz: int
    weighted: npt.NDArray[np.float64]
    plain: npt.NDArray[np.float64]
    above: dict[float, npt.NDArray[np.float64]]
    peak: npt.NDArray[np.float64]
    hits: npt.NDArray[np.bool_]

    def cut(self, start_s: float, length_s: float) -> StretchContents:
        """Sum up one stretch."""
        first, last = round(start_s / FRAME_S), round((start_s + length_s) / FRAME_S)
        part = slice(first, max(last, first + 1))
        return StretchContents(
            loudness_db=_to_db(float(self.weighted[part].mean())),
            softest_db=_to_db(_softest(self.weighted[part])),
            above_db={
                corner: _to_db(float(power[part].mean())) - _to_db(float(self.plain[part].mean()))
                for corner, power in self.above.items()
            },
            peak_over_rms_db=_to_db(float(self.peak[part].max()) ** 2) - _to_db(float(self.plain[part].mean()) / 2),
            hits_per_s=float(self.hits[part].sum()) / max(length_s, FRAME_S),
        )


@dataclass(frozen=True)
class StretchContents:
    """Facts of one stretch.

    Parameters
    ----------
    loudness_db : float
        Ungated K-weighted level, about LUFS.
    softest_db : float
        The same of its softest second.
    above_db : dict of float to float
        Level above a corner against everything, dB.
    peak_over_rms_db : float
        Sample peak over RMS level of a channel, dB.
    hits_per_s : float
        Drum hits a second.
    under_loudest_db : float
        Loudness against the loudest stretch of the song, dB, 0 or less; 0 as long as nothing is known of others.
    """

    loudness_db: float
    softest_db: float
    above_db: dict[float, float]
    peak_over_rms_db: float
    hits_per_s: float
    under_loudest_db: float = 0.0


def measure_contents(
    samples: npt.NDArray[np.floating], rate_hz: int, corners_hz: tuple[float, ...] = ()
) -> SongContents:
    """Measure a song's contents once; stretches are then cut from it at little cost.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        The song.
    rate_hz : int
        Sampling rate.
    corners_hz : tuple of float
        Corners above which the level is wanted; one at or above Nyquist holds nothing.

    Returns
    -------
    SongContents
    """
    sides = samples.astype(np.float64)
    return SongContents(
        rate_hz,
        average_steps(weight_k(sides, rate_hz), rate_hz),
        average_steps(sides, rate_hz),
        {corner: average_steps(_pass_above(sides, corner, rate_hz), rate_hz) for corner in corners_hz},
        follow_peaks(samples, rate_hz),
        find_hits(sides, rate_hz),
    )


def _pass_above(sides: npt.NDArray[np.float64], corner_hz: float, rate_hz: int) -> npt.NDArray[np.float64]:
    """Keep what lies above a corner."""
    if corner_hz >= 0.49 * rate_hz:
        return np.zeros_like(sides)
    return np.asarray(sosfilt(butter(4, corner_hz, "highpass", fs=rate_hz, output="sos"), sides, axis=0))


def _softest(power: npt.NDArray[np.float64]) -> float:
    """Power of the softest second."""
    width = min(power.size, int(1.0 / FRAME_S))
    total = np.concatenate([[0.0], np.cumsum(power)])
    return float(((total[width:] - total[:-width]) / width).min())


def _to_db(power: float) -> float:
    return 10 * float(np.log10(max(power, 1e-20)))
