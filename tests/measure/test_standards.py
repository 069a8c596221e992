"""Third octaves against IEC 61260-1."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.measure.standards import THIRD_OCTAVE_INDICES, third_octave_centre_hz, third_octave_edges_hz

# IEC 61260-1:2014: exact base-ten centres of the bands whose nominal centres are 20 Hz to 20 kHz.
CENTRES_HZ = (
    19.953, 25.119, 31.623, 39.811, 50.119, 63.096, 79.433, 100.00, 125.89, 158.49, 199.53, 251.19, 316.23, 398.11,
    501.19, 630.96, 794.33, 1000.00, 1258.93, 1584.89, 1995.26, 2511.89, 3162.28, 3981.07, 5011.87, 6309.57, 7943.28,
    10000.0, 12589.3, 15848.9, 19952.6,
)  # fmt: skip


def test_centres() -> None:
    """IEC 61260-1:2014, exact mid-band frequencies, 31 bands."""
    centres = [third_octave_centre_hz(index) for index in THIRD_OCTAVE_INDICES]
    np.testing.assert_allclose(centres, CENTRES_HZ, rtol=3e-5)


@pytest.mark.parametrize("index", [-17, 0, 13])
def test_edges(index: int) -> None:
    """IEC 61260-1:2014: edges at the centre times G**(±1/6), G = 10**0.3: ×0.891251 and ×1.122018."""
    low, high = third_octave_edges_hz(index)
    assert low / third_octave_centre_hz(index) == pytest.approx(0.891251, rel=1e-6)
    assert high / third_octave_centre_hz(index) == pytest.approx(1.122018, rel=1e-6)
    assert high == pytest.approx(third_octave_edges_hz(index + 1)[0])
