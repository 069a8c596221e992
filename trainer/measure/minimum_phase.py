"""The phase that goes with a change of spectrum, if the filter that made it delays no more than it must."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Wave = npt.NDArray[np.float64]

LENGTH = 8192
# A band that one of the two hardly holds tells nothing of a filter.
MOST_CHANGE = 4.6


def find_minimum_phase(hertz: Wave, change: Wave, wanted_hz: Wave, rate_hz: int) -> Wave:
    """Find the phase of the minimum-phase filter with a gain.

    Parameters
    ----------
    hertz, change : ndarray, shape (bands,)
        Frequencies, rising, and the natural logarithm of the gain there; flat beyond both ends.
    wanted_hz : ndarray
        Where the phase is wanted, 0 to half the rate.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray, shape of ``wanted_hz``
        Phase, rad; above 0 where the filter leads.

    Notes
    -----
    A. V. Oppenheim and R. W. Schafer, "Discrete-Time Signal Processing", chapter on the Hilbert transform (from
    memory): the phase follows from the logarithm of the gain by folding its cepstrum.
    """
    grid = np.fft.rfftfreq(LENGTH, 1 / rate_hz)
    middle = float(np.median(change))
    curve = np.interp(grid, hertz, np.clip(change, middle - MOST_CHANGE, middle + MOST_CHANGE))
    cepstrum = np.fft.irfft(curve, LENGTH)
    cepstrum[1 : LENGTH // 2] *= 2
    cepstrum[LENGTH // 2 + 1 :] = 0
    return np.asarray(np.interp(wanted_hz, grid, np.fft.rfft(cepstrum).imag))
