"""K-weighting by spectra, as a second reading of levels that gates must not touch."""

from __future__ import annotations

import numpy as np


def k_power(samples: np.ndarray) -> float:
    """K-weighted power by spectra: the analogue curve of BS.1770 as its two filters at 48 kHz give it (Table 1, 2)."""
    shelf = ([1.53512485958697, -2.69169618940638, 1.19839281085285], [1.0, -1.69065929318241, 0.73248077421585])
    high = ([1.0, -2.0, 1.0], [1.0, -1.99004745483398, 0.99007225036621])
    z = np.exp(-2j * np.pi * np.fft.rfftfreq(samples.shape[0]))
    curve = np.ones(z.size)
    for b, a in (shelf, high):
        curve = curve * np.abs(np.polyval(b[::-1], z) / np.polyval(a[::-1], z)) ** 2
    power = (np.abs(np.fft.rfft(samples.astype(np.float64), axis=0)) ** 2 * curve[:, None]).sum()
    return float(2 * power / samples.shape[0] ** 2)
