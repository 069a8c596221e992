"""What a linear move did to the spectrum, read from the two loops before and after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.measure.standards import THIRD_OCTAVE_INDICES, third_octave_centre_hz, third_octave_edges_hz

FINE_BANDS_PER_OCTAVE = 24
# Bands further than this below the strongest hold too little sound to be read.
READABLE_DB = 90.0


@dataclass(frozen=True)
class Response:
    """Gain against frequency, read from the sound.

    Parameters
    ----------
    frequencies_hz, gains_db : ndarray of float64, shape (bands,)
        Power-weighted mean frequency and gain of each band that holds enough sound.
    """

    frequencies_hz: npt.NDArray[np.float64]
    gains_db: npt.NDArray[np.float64]

    def at(self, frequency_hz: float) -> float:
        """Read the gain at a frequency between bands, dB."""
        return float(np.interp(np.log(frequency_hz), np.log(self.frequencies_hz), self.gains_db))


def measure_response(
    before: npt.NDArray[np.floating], after: npt.NDArray[np.floating], rate_hz: int, lowest_hz: float = 20.0
) -> Response:
    """Measure the gain between two rounds of a loop in narrow bands.

    Both are periodic, so the ratio of their spectra is exact; no window is needed.

    Parameters
    ----------
    before, after : ndarray, shape (frames, channels)
        The loop without and with the move.
    rate_hz : int
        Sampling rate.
    lowest_hz : float
        Lowest band edge.

    Returns
    -------
    Response
        From ``lowest_hz`` to 20 kHz or just below Nyquist.
    """
    highest = min(20000.0, 0.49 * rate_hz)
    count = int(np.log2(highest / lowest_hz) * FINE_BANDS_PER_OCTAVE)
    edges = np.geomspace(lowest_hz, highest, count + 1)
    return _Spectra(before, after, rate_hz).read_bands(edges, READABLE_DB)


def measure_third_octaves(
    before: npt.NDArray[np.floating], after: npt.NDArray[np.floating], rate_hz: int
) -> tuple[tuple[float, float], ...]:
    """Measure the gain between two rounds of a loop in third octaves.

    Returns
    -------
    tuple of (float, float)
        Exact centre, Hz, and gain, dB, of each third octave from 20 Hz to 20 kHz that holds enough sound.
    """
    spectra = _Spectra(before, after, rate_hz)
    pairs = []
    for index in THIRD_OCTAVE_INDICES:
        low, high = third_octave_edges_hz(index)
        if high >= rate_hz / 2:
            continue
        band = spectra.read_bands(np.array([low, high]), floor_db=None)
        if band.gains_db.size and np.isfinite(band.gains_db[0]):
            pairs.append((third_octave_centre_hz(index), float(band.gains_db[0])))
    return tuple(pairs)


class _Spectra:
    """Both power spectra, summed up so that any band costs nothing."""

    def __init__(self, before: npt.NDArray[np.floating], after: npt.NDArray[np.floating], rate_hz: int) -> None:
        self.frequencies = np.fft.rfftfreq(before.shape[0], 1 / rate_hz)
        power_before, power_after = _power(before), _power(after)
        self.strongest = float(power_before[1:].max(initial=0.0))
        self.sums = [_sum_up(v) for v in (power_before, power_after, power_before * self.frequencies)]

    def read_bands(self, edges: npt.NDArray[np.float64], floor_db: float | None) -> Response:
        """Compare both between neighbouring edges, leaving out bands too far below the strongest line."""
        places = np.searchsorted(self.frequencies, edges)
        was, became, moment = (np.diff(total[places]) for total in self.sums)
        least = 0.0 if floor_db is None else self.strongest * 10 ** (-floor_db / 10)
        held = (was > least) & (became > 0)
        return Response(moment[held] / was[held], 10 * np.log10(became[held] / was[held]))


def _power(samples: npt.NDArray[np.floating]) -> npt.NDArray[np.float64]:
    """Power of each line, channels summed."""
    spectrum = np.fft.rfft(samples.astype(np.float64), axis=0)
    return np.asarray((np.abs(spectrum) ** 2).sum(axis=1))


def _sum_up(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.concatenate([[0.0], np.cumsum(values)])
