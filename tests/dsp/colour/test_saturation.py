"""Saturation on music: what was asked is in the sound, by a reading of this test's own."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.sounds import music_like, noise, sine
from trainer.audio.clip import Clip
from trainer.dsp.colour.bend import find_bend
from trainer.dsp.colour.saturation import Saturation
from trainer.errors import BadValue, NotReachable

MOVE = Saturation()
RATE_HZ = 48000


def _loop(samples: npt.NDArray[np.float64], rate_hz: int = RATE_HZ) -> Clip:
    return Clip(samples.astype(np.float32), rate_hz)


def read_added_percent(before: Clip, after: Clip) -> float:
    """Read what was added by least squares in time, channel by channel: octaves of the song and their quarter-turns."""
    kept = rest = 0.0
    hz = np.fft.rfftfreq(before.frames, 1 / before.rate_hz)
    edges = [16.0, *(1000 * 2.0 ** (k + 0.5) for k in range(-5, 4)), 20000.0]
    for was, became in zip(before.samples.T.astype(float), after.samples.T.astype(float), strict=True):
        lines, heard = np.fft.rfft(was), np.fft.rfft(became)
        heard[(hz < edges[0]) | (hz >= edges[-1])] = 0
        columns = []
        for low, high in pairwise(edges):
            here = lines * ((hz >= low) & (hz < high))
            columns += [np.fft.irfft(here, before.frames), np.fft.irfft(1j * here, before.frames)]
        basis, wave = np.stack(columns, axis=1), np.fft.irfft(heard, before.frames)
        song = basis @ np.linalg.lstsq(basis, wave, rcond=None)[0]
        kept, rest = kept + float((song**2).sum()), rest + float(((wave - song) ** 2).sum())
    return float(100 * np.sqrt(rest / kept))


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("even_share", [0.0, 70.0])
@pytest.mark.parametrize("percent", [0.3, 3.0, 12.0])
def test_what_was_asked_is_in_the_sound(percent: float, even_share: float, rate_hz: int) -> None:
    """Least squares in time against the move's own reading in frequency: both as asked, within 0.1 dB."""
    before = MOVE.prepare(_loop(music_like(rate_hz, rate_hz, 1), rate_hz))
    settings = MOVE.solve(before, percent, {"even_share_percent": even_share})
    after = MOVE.render(before, settings)
    effect = MOVE.measure(before, after.with_samples(after.samples * 10 ** (-5 / 20)), settings, -5.0)
    assert read_added_percent(before, after) == pytest.approx(percent, rel=0.0115)
    assert effect.amount == effect.measured["added_percent"] == pytest.approx(percent, rel=0.0115)
    assert effect.measured["added_db"] == pytest.approx(20 * np.log10(percent / 100), abs=0.1)
    assert effect.measured["thd_percent"] == pytest.approx(settings["thd_percent"], rel=0.01)
    assert effect.measured["even_share_percent"] == pytest.approx(even_share, abs=1.0)
    assert any("dB below the song" in sentence for sentence in effect.sentences)


def test_nothing_asked_is_the_loop_bit_for_bit() -> None:
    """A zero amount must not change a bit."""
    before = MOVE.prepare(_loop(music_like(48000, RATE_HZ, 1)))
    np.testing.assert_array_equal(MOVE.render(before, MOVE.solve(before, 0.0, {})).samples, before.samples)


def test_both_versions_end_alike_near_nyquist() -> None:
    """A round trip through the filters would take 22 kHz down; the sound goes past them, so nothing is lost there."""
    hiss = MOVE.prepare(_loop(noise(RATE_HZ, 0.02, 1)))
    after = MOVE.render(hiss, {"thd_percent": 0.5})
    hz = np.fft.rfftfreq(hiss.frames, 1 / RATE_HZ)
    for low, high in ((19000, 20000), (20000, 21000), (21000, 22000)):
        powers = [
            float((np.abs(np.fft.rfft(clip.samples[:, 0]))[(hz > low) & (hz < high)] ** 2).sum())
            for clip in (hiss, after)
        ]
        assert 10 * np.log10(powers[1] / powers[0]) == pytest.approx(0.0, abs=0.02)


def test_no_constant_is_left() -> None:
    """Even harmonics come with a constant (the series' x² has the mean A²/2): it is 120 dB down after the move."""
    loud = _loop(sine(100.0, 0.5, RATE_HZ, RATE_HZ))
    after = MOVE.render(loud, {"thd_percent": 5.0, "even_share_percent": 90.0}).samples.astype(float)
    assert np.abs(after - loud.samples).max() > 0.01
    assert np.abs(after.mean(axis=0)).max() < 1e-6


def test_low_notes_follow_the_curve_point_by_point() -> None:
    """A note whose harmonics end far below 20 kHz: the rendering is the curve at each sample, less its mean."""
    loud = _loop(sine(200.0, 0.25, RATE_HZ, RATE_HZ))
    settings = {"thd_percent": 3.0, "even_share_percent": 60.0, "level_dbfs": -12.0}
    bend = find_bend(0.03, 0.6, 10 ** (-12 / 20))
    t = np.tanh(bend.bias)
    x = loud.samples.astype(float)
    wished = (np.tanh(bend.drive * x + bend.bias) - t) / (bend.drive * (1 - t * t))
    wished -= wished.mean(axis=0)
    # What removes the mean turns what was added at 200 Hz by half a degree: so little is left.
    assert np.abs(MOVE.render(loud, settings).samples - wished).max() < 2e-4


def test_the_loop_sounds_as_in_its_third_round() -> None:
    """Against the third round of the same move over the repeated loop: below −120 dBFS, seam and all."""
    loop = music_like(RATE_HZ, RATE_HZ, 5)
    settings = {"thd_percent": 8.0, "even_share_percent": 80.0}
    steady = MOVE.render(_loop(loop), settings).samples.astype(float)
    third = MOVE.render(_loop(np.tile(loop, (3, 1))), settings).samples[2 * RATE_HZ :]
    assert 20 * np.log10(np.abs(steady - third).max() + 1e-30) < -120


def test_what_cannot_be_had_is_refused_with_the_most_that_can() -> None:
    """House rule: one line, with the best."""
    before = MOVE.prepare(_loop(music_like(48000, RATE_HZ, 1)))
    with pytest.raises(NotReachable, match="at most") as caught:
        MOVE.solve(before, 300.0, {})
    assert "\n" not in str(caught.value)
    for bad in (-1.0, float("nan"), float("inf")):
        with pytest.raises(BadValue):
            MOVE.solve(before, bad, {})
    with pytest.raises(BadValue):
        MOVE.solve(_loop(np.zeros((4800, 2))), 1.0, {})
