"""Where faults are put: checked by spectra, and by looking at the samples."""

from __future__ import annotations

import math

import numpy as np

from tests.dsp.faults.songs import RATE_HZ, beat
from trainer.audio.clip import Clip
from trainer.dsp.faults.places import find_peaks, find_sounding, find_uncovered, pick_place


def _top_db(clip: Clip, at_s: float) -> float:
    """Level above 4 kHz of the 100 ms around a place, by FFT under a Hann window."""
    at = int(at_s * clip.rate_hz)
    part = clip.samples[max(0, at - 2400) : at + 2400]
    power = np.abs(np.fft.rfft(part * np.hanning(part.shape[0])[:, None], axis=0)) ** 2
    return 10 * math.log10(float(power[np.fft.rfftfreq(part.shape[0], 1 / clip.rate_hz) > 4000].sum()))


def test_uncovered_places_hold_little_of_the_band() -> None:
    """By FFT: above 4 kHz each holds less than three quarters of all places do; in order, apart, off the ends."""
    clip = beat()
    places = find_uncovered(clip, (4000.0, math.inf))
    everywhere = [_top_db(clip, at_s) for at_s in np.arange(0.25, 3.75, 0.05)]
    assert len(places) >= 3
    assert all(_top_db(clip, at_s) <= np.quantile(everywhere, 0.4) for at_s in places)
    assert (np.diff(places) >= 0.4 - 1e-9).all()
    assert places[0] >= 0.25 and places[-1] <= 3.75


def test_a_gap_between_songs_is_no_place() -> None:
    """Digital silence covers nothing, and nobody listens there: the fault goes into the music."""
    samples = beat().samples.copy()
    samples[RATE_HZ : 2 * RATE_HZ] = 0.0
    for places in (find_uncovered(Clip(samples, RATE_HZ), (4000.0, math.inf)), find_sounding(Clip(samples, RATE_HZ))):
        assert all(not 1.1 < at_s < 1.9 for at_s in places)


def test_peaks_are_the_highest_samples() -> None:
    """Pulses of known height: those within 6 dB of the highest, in order of time."""
    samples = np.full((4 * RATE_HZ, 2), 0.01, np.float32)
    for at_s, height in ((0.5, 0.9), (1.3, -0.6), (2.2, 0.3), (3.1, 0.5)):
        samples[int(at_s * RATE_HZ), 1] = height
    np.testing.assert_allclose(find_peaks(Clip(samples, RATE_HZ)), (0.5, 1.3, 3.1), atol=1e-4)


def test_a_share_picks_from_first_to_last() -> None:
    """0 is the first, 1 the last, equal shares between."""
    assert [pick_place((1.0, 2.0, 3.0, 4.0), share) for share in (0.0, 0.3, 0.5, 1.0)] == [1.0, 2.0, 3.0, 4.0]


def test_a_clip_without_places_has_its_middle() -> None:
    """Silence, or too short: the middle, so that there is always one."""
    silent = Clip(np.zeros((RATE_HZ, 2), np.float32), RATE_HZ)
    assert find_uncovered(silent, (0.0, 100.0))
    assert find_peaks(silent) == (0.5,)
