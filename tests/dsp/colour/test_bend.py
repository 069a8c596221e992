"""The bend: asked by a sine's harmonics, and read from rendered sines by an FFT of this test's own."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from trainer.audio.clip import Clip
from trainer.dsp.colour.bend import Bend, find_bend, predict_harmonics
from trainer.dsp.colour.saturation import Saturation
from trainer.errors import BadValue

RATE_HZ = 48000
SINE_HZ = 997


def _sine(peak: float, rate_hz: int = RATE_HZ) -> Clip:
    """One second: a whole number of periods."""
    wave = peak * np.sin(2 * np.pi * SINE_HZ * np.arange(rate_hz) / rate_hz)
    return Clip(np.repeat(wave[:, None], 2, axis=1).astype(np.float32), rate_hz)


def _read(samples: npt.NDArray[np.floating]) -> tuple[float, float]:
    """Read THD, %, and the share of its power in even harmonics, from lines 997, 1994 ... below 20 kHz."""
    lines = np.abs(np.fft.rfft(samples[:, 0].astype(float))) ** 2
    harmonics = np.array([lines[k * SINE_HZ] for k in range(1, 21)])
    over = harmonics[1:].sum()
    return 100 * float(np.sqrt(over / harmonics[0])), float(harmonics[1::2].sum() / over)


@pytest.mark.parametrize("rate_hz", [44100, 48000])
@pytest.mark.parametrize("thd", [0.3, 1.0, 3.0, 10.0, 25.0])
@pytest.mark.parametrize("even_share", [0.0, 0.3, 0.5, 0.9])
def test_rendered_sines_have_what_was_asked(thd: float, even_share: float, rate_hz: int) -> None:
    """Definition of THD (harmonics over the fundamental): within 1 % of what was asked, even share within 0.01."""
    settings = {"thd_percent": thd, "even_share_percent": 100 * even_share, "level_dbfs": -6.0}
    got_thd, got_share = _read(Saturation().render(_sine(10 ** (-6 / 20), rate_hz), settings).samples)
    assert got_thd == pytest.approx(thd, rel=0.01)
    assert got_share == pytest.approx(even_share, abs=0.01)


def test_harmonics_of_small_bends_follow_the_series() -> None:
    """Power series of the curve, x − t d x² + (3 t² − 1) d² x³ / 3: second t d A² / 2, third by a quarter of A³."""
    drive, bias, peak = 0.05, 0.4, 0.8
    t = np.tanh(bias)
    got = predict_harmonics(Bend(drive, bias), peak)
    assert got[0] == pytest.approx(peak, rel=1e-3)
    assert abs(got[1]) == pytest.approx(t * drive * peak**2 / 2, rel=1e-2)
    assert abs(got[2]) == pytest.approx(abs(3 * t**2 - 1) * drive**2 * peak**3 / 12, rel=1e-2)


def test_harmonics_of_the_hardest_bend_are_a_square_waves() -> None:
    """Fourier series of a square wave: 1, 0, 1/3, 0, 1/5 ..."""
    got = predict_harmonics(Bend(400.0, 0.0), 1.0)
    np.testing.assert_allclose(np.abs(got[:8] / got[0]), [1, 0, 1 / 3, 0, 1 / 5, 0, 1 / 7, 0], atol=2e-3)


@pytest.mark.parametrize("thd", [1e-5, 0.01, 0.2, 0.4])
@pytest.mark.parametrize("even_share", [0.0, 0.02, 0.5, 0.95])
def test_every_request_within_bounds_is_met(thd: float, even_share: float) -> None:
    """The curve itself, sampled round one period and transformed: the sum of its harmonics is as asked."""
    bend = find_bend(thd, even_share, 0.25)
    wave = bend.apply(0.25 * np.sin(2 * np.pi * np.arange(4096) / 4096))
    power = np.abs(np.fft.rfft(wave)[1:21]) ** 2
    assert np.sqrt(power[1:].sum() / power[0]) == pytest.approx(thd, rel=1e-6)
    assert power[1::2].sum() / power[1:].sum() == pytest.approx(even_share, abs=1e-6)


@pytest.mark.parametrize(("drive", "bias"), [(0.01, 0.0), (1.0, 0.0), (1.0, 0.4), (6.0, 0.2)])
def test_the_quick_curve_is_the_curve(drive: float, bias: float) -> None:
    """Against numpy.tanh in float64: within 4e-6 of the level at which the curve saturates."""
    x = np.linspace(-3, 3, 20001)
    added = np.empty((1, x.size), np.float32)
    Bend(drive, bias).write_added(x[None].astype(np.float32), added)
    t = np.tanh(bias)
    wished = (np.tanh(drive * x + bias) - t) / (drive * (1 - t * t)) - x
    assert np.abs(added[0] - wished).max() < 4e-6 * max(1.0, 1 / drive)
    assert np.abs(Bend(drive, bias).apply(x) - x - wished).max() < 1e-12


def test_the_curve_is_pedalboards_where_definitions_agree() -> None:
    """pedalboard.Distortion is tanh(drive x), not oversampled: the curve without bias, times its drive."""
    pedalboard = pytest.importorskip("pedalboard")
    x = np.linspace(-1, 1, 4001, dtype=np.float32)
    theirs = pedalboard.Distortion(drive_db=9.0)(np.stack([x, x]), RATE_HZ)[0]
    drive = 10 ** (9 / 20)
    np.testing.assert_allclose(drive * Bend(drive, 0.0).apply(x.astype(float)), theirs, atol=2e-6)


@pytest.mark.parametrize(("thd", "share", "peak"), [(0.0, 0.1, 1.0), (0.5, 0.1, 1.0), (0.1, 0.99, 1.0), (0.1, 0.1, 0.0),
                                                   (float("nan"), 0.1, 1.0), (0.1, float("nan"), 1.0)])  # fmt: skip
def test_requests_out_of_bounds_are_refused_in_one_line(thd: float, share: float, peak: float) -> None:
    """House rule for errors."""
    with pytest.raises(BadValue) as caught:
        find_bend(thd, share, peak)
    assert "\n" not in str(caught.value)
