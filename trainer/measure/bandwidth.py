"""How far up a file reaches, and whether it ends at a cliff, as lossy coding leaves one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.measure.spectrum import LongTermSpectrum

BAND_HZ = 100.0
# A cliff falls by so much within so many bands, and nothing behind it comes up again.
CLIFF_DB = 18.0
CLIFF_BANDS = 6
SHOULDER_BANDS = 10
# Power of a band below which there is nothing to hear: the noise of 24 bits is 40 dB above it.
EMPTY_DB = -200.0
# Far below the strongest band: beyond the last band over this, the file holds nothing.
HELD_DB = 110.0


@dataclass(frozen=True)
class Bandwidth:
    """Say how far up a file reaches.

    Parameters
    ----------
    highest_hz : float
        Where the sound ends; the Nyquist frequency where it does not.
    cliff_db : float
        How steeply it ends, dB within 600 Hz; 0 where it fades or goes on.
    """

    highest_hz: float
    cliff_db: float


def find_bandwidth(spectrum: LongTermSpectrum) -> Bandwidth | None:
    """Find where the long-term spectrum ends; None for silence.

    Notes
    -----
    Common practice, no source: coders keep about 16 kHz at 128 kb/s and 20 kHz at 320 kb/s, behind a steep edge;
    music by itself fades gently.
    """
    levels, band_hz = _read_bands(spectrum)
    nyquist_hz = spectrum.width_hz * (spectrum.power.shape[1] - 1)
    if levels.size == 0 or levels.max() <= EMPTY_DB:
        return None
    held = np.flatnonzero(levels > max(EMPTY_DB, levels.max() - HELD_DB))
    last = int(held[-1])
    cliff, fall = _find_cliff(levels)
    if cliff is not None and cliff <= last:
        return Bandwidth((cliff + 1) * band_hz, fall)
    steep = last + 1 < levels.size and levels[max(0, last - SHOULDER_BANDS) : last + 1].mean() - levels[last + 1] > 40
    return Bandwidth(min(nyquist_hz, (last + 1) * band_hz), HELD_DB if steep else 0.0)


def _read_bands(spectrum: LongTermSpectrum) -> tuple[npt.NDArray[np.float64], float]:
    """Level of each band of about 100 Hz, dB, up to Nyquist; and the bands' exact width, Hz."""
    power = spectrum.power.mean(axis=0)
    lines = max(1, round(BAND_HZ / spectrum.width_hz))
    count = power.size // lines
    mean = power[: count * lines].reshape(count, lines).sum(axis=1)
    return np.asarray(10 * np.log10(np.maximum(mean, 1e-30))), lines * spectrum.width_hz


def _find_cliff(levels: npt.NDArray[np.float64]) -> tuple[int | None, float]:
    """Find the last band before a steep fall behind which all stays low: its number, and the fall."""
    behind = np.maximum.accumulate(levels[::-1])[::-1]
    best, fall = None, 0.0
    for band in range(SHOULDER_BANDS, levels.size - CLIFF_BANDS):
        shoulder = float(np.median(levels[band - SHOULDER_BANDS + 1 : band + 1]))
        drop = shoulder - float(behind[band + CLIFF_BANDS])
        if drop >= CLIFF_DB and drop > fall:
            best, fall = band, drop
    if best is None:
        return None, 0.0
    # The edge itself: where half of the fall has happened.
    shoulder = float(np.median(levels[best - SHOULDER_BANDS + 1 : best + 1]))
    inside = np.flatnonzero(levels[: best + CLIFF_BANDS + 1] > shoulder - min(fall, 40.0) / 2)
    return int(inside[-1]), fall
