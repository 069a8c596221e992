"""The multiband compressor: one band asked, found there by another reading, and nowhere else."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfiltfilt

from tests.dsp.dynamics.beats import make_beat
from tests.measure.sounds import sine
from trainer.audio.clip import Clip
from trainer.dsp.dynamics.multiband import THRESHOLDS, Multiband
from trainer.dsp.processor import run_through
from trainer.errors import BadValue, NotReachable
from trainer.measure.contents import measure_contents
from trainer.units import db_to_gain

MOVE = Multiband()


@pytest.mark.parametrize(("rate_hz", "band", "amount"), [
    (48000, 1.0, 3.0), (44100, 2.0, 3.0), (48000, 3.0, 1.0), (44100, 3.0, 6.0), (48000, 4.0, 3.0)
])  # fmt: skip
def test_what_is_asked_is_measured(rate_hz: int, band: float, amount: float) -> None:
    """By the contract: within 0.005 dB."""
    loop = make_beat(rate_hz)
    solved = MOVE.solve(loop, amount, {"band_number": band})
    effect = MOVE.measure(loop, MOVE.render(loop, solved), solved)
    assert effect.amount == effect.measured[MOVE.effect_name] == pytest.approx(amount, abs=0.005)


@pytest.mark.parametrize(("frequency_hz", "threshold"), [
    (50.0, "low_threshold_dbfs"), (310.0, "low_mid_threshold_dbfs"), (2000.0, "high_mid_threshold_dbfs"),
    (14000.0, "high_threshold_dbfs"),
])  # fmt: skip
def test_a_tone_in_a_band_is_turned_down_as_the_curve_says(frequency_hz: float, threshold: str) -> None:
    """Closed form: a tone 12 dB over, 4 : 1, hard knee; the band holds a share of it by the crossovers' magnitudes.

    With a share s and a gain g on it, 1 − s (1 − g) is left of the tone; one far away keeps its level.
    """
    rate_hz, frames = 48000, 96000
    other_hz = 50.0 if frequency_hz > 400 else 6000.0
    loop = Clip((sine(frequency_hz, 0.25, frames, rate_hz) + sine(other_hz, 0.005, frames, rate_hz)).astype(np.float32),
                rate_hz)  # fmt: skip
    settings = {threshold: 20 * np.log10(0.25) - 12.0, "knee_db": 0.0, "release_ms": 500.0, "attack_ms": 30.0}
    after = MOVE.render(loop, settings).samples[:, 0].astype(float)
    was, became = np.abs(np.fft.rfft(loop.samples[:, 0].astype(float))), np.abs(np.fft.rfft(after))
    at, far = round(frequency_hz * 2), round(other_hz * 2)
    below = [0.0, *(1 / (1 + (frequency_hz / corner) ** 4) for corner in (120.0, 800.0, 5000.0)), 1.0]
    number = THRESHOLDS.index(threshold)
    share = below[number + 1] - below[number]
    left = 1 - share * (1 - 10 ** (-0.75 * (12 + 20 * np.log10(share)) / 20))
    assert 20 * np.log10(became[at] / was[at]) == pytest.approx(20 * np.log10(left), abs=0.15)
    assert 20 * np.log10(became[far] / was[far]) == pytest.approx(0.0, abs=0.05)


def test_the_reduction_lies_in_its_band() -> None:
    """Zero-phase band levels of scipy: the asked band loses several dB, bands two away less than 0.05 dB."""
    loop = make_beat()
    after = MOVE.render(loop, MOVE.solve(loop, 8.0, {"band_number": 3.0}))
    changes = []
    for low, high in ((30.0, 90.0), (1300.0, 3500.0)):
        sections = butter(4, (low, high), "bandpass", fs=loop.rate_hz, output="sos")
        power = [(sosfiltfilt(sections, clip.samples.astype(float), axis=0) ** 2).sum() for clip in (loop, after)]
        changes.append(10 * np.log10(power[1] / power[0]))
    assert abs(changes[0]) < 0.05
    assert changes[1] < -3.0


def test_nothing_asked_is_the_loop_itself() -> None:
    """Bit for bit: the crossovers change nothing by themselves."""
    loop = make_beat()
    for settings in (MOVE.solve(loop, 0.0, {}), {"low_threshold_dbfs": 50.0, "high_threshold_dbfs": 50.0}):
        np.testing.assert_array_equal(MOVE.render(loop, settings).samples, loop.samples)


def test_a_whole_song_streams_in_step() -> None:
    """Against the round in steady state: the last of four rounds, in blocks; not late; −120 dB."""
    loop = make_beat()
    solved = MOVE.solve(loop, 6.0, {"band_number": 2.0})
    song = Clip(np.tile(loop.samples, (4, 1)), loop.rate_hz)
    streamed = run_through(MOVE.begin(solved, loop.rate_hz), song, 9000).samples
    third = streamed[2 * loop.frames : 3 * loop.frames]
    assert np.abs(third - MOVE.render(loop, solved).samples).max() < 1e-6
    assert MOVE.run_up_s(solved) > 12 * 0.12


def test_a_level_between_the_versions_does_not_count() -> None:
    """By construction."""
    loop = make_beat()
    solved = MOVE.solve(loop, 3.0, {})
    after = MOVE.render(loop, solved)
    turned = after.with_samples(after.samples * db_to_gain(-4.0))
    plain, matched = MOVE.measure(loop, after, solved), MOVE.measure(loop, turned, solved, -4.0)
    assert matched.measured == pytest.approx(plain.measured, abs=1e-3)


def test_what_cannot_be_had_is_said() -> None:
    """By construction: too much, silence, no number, a crossover beyond the band."""
    loop = make_beat()
    with pytest.raises(NotReachable, match="at most"):
        MOVE.solve(loop, 80.0, {})
    with pytest.raises(BadValue, match="peak_dbfs"):
        MOVE.solve(Clip(np.zeros((48000, 2), np.float32), 48000), 1.0, {})
    with pytest.raises(BadValue, match="amount"):
        MOVE.solve(loop, float("nan"), {})
    with pytest.raises(BadValue, match="high_crossover_hz"):
        MOVE.begin({"high_crossover_hz": 12000.0}, 22050)


def test_the_beat_meets_the_needs_of_its_bands() -> None:
    """By construction: kicks below, snares above; nothing above 5 kHz in a kick alone."""
    loop = make_beat()
    for band in (1.0, 2.0, 3.0):
        settings = {"band_number": band}
        contents = measure_contents(loop.samples, loop.rate_hz, MOVE.bands_hz(settings)).cut(0.0, loop.duration_s)
        assert all(need.met for need in MOVE.needs(contents, settings)), MOVE.needs(contents, settings)
    low = Clip(sine(60.0, 0.3, 96000, 48000).astype(np.float32), 48000)
    contents = measure_contents(low.samples, 48000, MOVE.bands_hz({"band_number": 4.0})).cut(0.0, 2.0)
    assert not all(need.met for need in MOVE.needs(contents, {"band_number": 4.0}))
