"""The phase that goes with a gain, against filters whose phase is known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import freqz_sos, iirpeak, tf2sos

from trainer.measure.minimum_phase import find_minimum_phase

RATE_HZ = 48000
HERTZ = np.geomspace(20.0, 23000.0, 200)


@pytest.mark.parametrize(
    "sections",
    [
        tf2sos(np.array([1.0, -0.5]), np.array([1.0, 0.2])),
        tf2sos(np.array([1.0, -0.85]), np.array([1.0, -0.9])),
        tf2sos(np.add(*iirpeak(3000, 2, fs=RATE_HZ)), iirpeak(3000, 2, fs=RATE_HZ)[1]),
    ],
    ids=["treble", "bass", "bell"],
)
def test_filters_with_their_zeros_inside_the_circle(sections: np.ndarray) -> None:
    """Outside reference: scipy's frequency response of filters that have the least phase by construction."""
    _, response = freqz_sos(sections, HERTZ, fs=RATE_HZ)
    found = find_minimum_phase(HERTZ, np.log(np.abs(response)), HERTZ, RATE_HZ)
    inside = (HERTZ > 150) & (HERTZ < 10000)
    assert np.abs(found - np.angle(response))[inside].max() < 0.03


def test_no_change_has_no_phase() -> None:
    """By definition: a plain gain delays nothing."""
    assert np.abs(find_minimum_phase(HERTZ, np.full(HERTZ.size, 0.7), HERTZ, RATE_HZ)).max() < 1e-9
