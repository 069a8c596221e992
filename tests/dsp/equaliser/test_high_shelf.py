"""The high shelf as a move: what was asked is in the sound, by an estimate of this test's own."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.dsp.equaliser.high_shelf import HighShelf

MOVE = HighShelf()


def _loop(samples: npt.NDArray[np.float64], rate_hz: int = 48000) -> Clip:
    return Clip(samples.astype(np.float32), rate_hz)


def _cookbook_db(frequencies_hz: npt.NDArray[np.float64], corner_hz: float, gain_db: float) -> npt.NDArray[np.float64]:
    """Give the analogue curve, written out from the transfer function."""
    a = 10 ** (gain_db / 40)
    s = 1j * frequencies_hz / corner_hz
    middle = np.sqrt(2 * a) * s
    return np.asarray(20 * np.log10(np.abs(a * (a * s * s + middle + 1) / (s * s + middle + a))))


def _estimate_gain_db(before: Clip, after: Clip, corner_hz: float) -> float:
    """Estimate the plateau: the gain whose curve is nearest to the smoothed ratio of two FFTs, on a fine grid."""
    power = [(np.abs(np.fft.rfft(c.samples.astype(np.float64), axis=0)) ** 2).sum(axis=1) for c in (before, after)]
    frequencies = np.fft.rfftfreq(before.frames, 1 / before.rate_hz)
    edges = np.searchsorted(frequencies, np.geomspace(100, 20000, 121))
    was, became = (np.add.reduceat(p, edges)[:-1] for p in power)
    middle = np.add.reduceat(power[0] * frequencies, edges)[:-1] / was
    shown = 10 * np.log10(became / was)
    trials = np.arange(-13, 13, 0.02)
    miss = [
        ((_cookbook_db(middle, corner_hz, g) - shown) ** 2 * np.sqrt(was)).sum() / np.sqrt(was).sum() for g in trials
    ]
    return float(trials[int(np.argmin(miss))])


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("gain_db", [-6.0, -1.0, 0.5, 2.0, 8.0])
@pytest.mark.parametrize("corner_hz", [3000.0, 8000.0])
def test_what_was_asked_is_in_the_sound(gain_db: float, corner_hz: float, rate_hz: int) -> None:
    """W3C Audio EQ Cookbook's analogue curve against the ratio of two FFTs, and the move's own reading: 0.1 dB."""
    before = _loop(music_like(2 * rate_hz, rate_hz, 1), rate_hz)
    settings = MOVE.solve(before, gain_db, {"corner_hz": corner_hz})
    after = MOVE.render(before, settings)
    assert _estimate_gain_db(before, after, corner_hz) == pytest.approx(gain_db, abs=0.1)
    effect = MOVE.measure(before, after, settings)
    assert effect.amount == pytest.approx(gain_db, abs=0.1)
    assert effect.measured["gain_at_corner_db"] == pytest.approx(gain_db / 2, abs=0.1)
    at_16 = _cookbook_db(np.array([16000.0]), corner_hz, gain_db)[0]
    assert effect.measured["gain_at_16_khz_db"] == pytest.approx(at_16, abs=0.1)
    assert effect.measured["worst_deviation_db"] < 0.2


def test_a_level_change_is_not_taken_for_a_shelf() -> None:
    """Closed form: 4.5 dB less of everything changes the level that is read, not the gain."""
    before = _loop(music_like(96000, 48000, 2))
    settings = MOVE.solve(before, 3.0, {"corner_hz": 6000.0})
    after = MOVE.render(before, settings)
    effect = MOVE.measure(before, after.with_samples(after.samples * 10 ** (-4.5 / 20)), settings, -4.5)
    assert effect.amount == pytest.approx(3.0, abs=0.05)
    assert effect.measured["level_change_db"] == pytest.approx(-4.5, abs=0.05)


def test_pictures_show_the_asked_curve() -> None:
    """W3C Audio EQ Cookbook's analogue curve, and third octaves of the sound close to it."""
    before = _loop(noise(96000, 0.1, 3))
    settings = MOVE.solve(before, 4.0, {"corner_hz": 5000.0})
    picture = MOVE.measure(before, MOVE.render(before, settings), settings).picture
    asked = np.array(picture.asked)
    np.testing.assert_allclose(asked[:, 1], _cookbook_db(asked[:, 0], 5000.0, 4.0), atol=0.05)
    measured = np.array(picture.measured)
    assert measured.shape == (31, 2)
    np.testing.assert_allclose(measured[:, 1], _cookbook_db(measured[:, 0], 5000.0, 4.0), atol=0.12)


def test_nothing_asked_is_the_loop_bit_for_bit() -> None:
    """A zero amount must not change a bit."""
    before = _loop(noise(9600, 0.1, 4))
    after = MOVE.render(before, MOVE.solve(before, 0.0, {}))
    np.testing.assert_array_equal(after.samples, before.samples)
    assert MOVE.prepare(before) is before


def test_length_and_place_are_kept() -> None:
    """A minimum-phase shelf answers a click from its own frame on (causality), and bass comes out undelayed."""
    click = np.zeros((9600, 2))
    click[4000] = 0.5
    after = MOVE.render(_loop(click), {"corner_hz": 2000.0, "gain_db": 6.0})
    assert after.frames == 9600
    assert np.abs(after.samples).argmax() // 2 == 4000
    assert np.abs(after.samples[:4000]).max() < 1e-6
    bass = np.sin(2 * np.pi * 100 * np.arange(9600) / 48000)[:, None] * np.ones(2) * 0.3
    turned = MOVE.render(_loop(bass), {"corner_hz": 8000.0, "gain_db": 6.0}).samples
    np.testing.assert_allclose(turned, bass, atol=0.005)


@pytest.mark.parametrize("corner_hz", [1000.0, 8000.0])
def test_the_loop_sounds_as_in_its_third_round(corner_hz: float) -> None:
    """Against the third round of the same filter over the repeated loop: below −120 dBFS, seam and all."""
    loop = music_like(48000, 48000, 5)
    settings = {"corner_hz": corner_hz, "gain_db": 9.0}
    steady = MOVE.render(_loop(loop), settings).samples
    third = MOVE.render(_loop(np.tile(loop, (3, 1))), settings).samples[2 * 48000 :]
    assert 20 * np.log10(np.abs(steady.astype(np.float64) - third).max() + 1e-30) < -120
