"""Band limits against the Butterworth curve in closed form, and equal loudness on libebur128."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pyebur128
import pytest

from tests.measure.sounds import music_like, noise
from trainer.audio.clip import Clip
from trainer.decisions.systems import SYSTEMS, limit_to_system, play_on_systems
from trainer.errors import BadValue

RATE_HZ = 48000


def make_loop(wave: npt.NDArray[np.floating]) -> Clip:
    """Make a clip of a wave."""
    return Clip(np.ascontiguousarray(wave, dtype=np.float32), RATE_HZ)


@pytest.mark.parametrize("name", ["small_speaker", "laptop"])
def test_a_band_limit_is_the_butterworth_curve(name: str) -> None:
    """Order 4: gain 1 / √(1 + (f/f_c)^8), 3 dB down at the corner and 24 dB an octave beyond (closed form)."""
    system = SYSTEMS[name]
    wave = noise(4 * RATE_HZ, 0.1, 1)
    wave[:, 1] = wave[:, 0]
    out = limit_to_system(make_loop(wave), name).samples
    lines = np.fft.rfftfreq(wave.shape[0], 1 / RATE_HZ)
    gain = np.abs(np.fft.rfft(out[:, 0])) / np.abs(np.fft.rfft(wave[:, 0]))
    for hz in (system.low_hz / 2, system.low_hz, 1000.0, 5000.0):
        expected = 1 / math.sqrt(1 + (system.low_hz / hz) ** 8) / math.sqrt(1 + (hz / system.high_hz) ** 8)
        measured = float(gain[int(np.argmin(np.abs(lines - hz)))])
        assert 20 * math.log10(measured / expected) == pytest.approx(0.0, abs=0.1)
    assert system.about.count("Hz") >= 2 and "no copy" in system.about


def test_mono_is_the_mean_of_both() -> None:
    """(left + right) / 2 on both channels (definition)."""
    wave = noise(RATE_HZ * 4, 0.1, 2)
    out = limit_to_system(make_loop(wave), "mono").samples
    assert np.abs(out - wave.mean(axis=1, keepdims=True)).max() < 1e-6
    assert np.array_equal(out[:, 0], out[:, 1])


def test_a_loop_goes_on_without_a_step() -> None:
    """Steady state: two rounds in a row give the same sound twice, as a periodic input to a linear filter does."""
    loop = make_loop(music_like(4 * RATE_HZ, RATE_HZ, 3))
    once = limit_to_system(loop, "laptop").samples
    twice = limit_to_system(make_loop(np.tile(loop.samples, (2, 1))), "laptop").samples
    assert np.abs(twice[: loop.frames] - once).max() < 1e-6


def test_all_are_equally_loud() -> None:
    """libebur128 on ten rounds: within 0.05 LU of the loop itself, and under −1 dBTP."""
    matched = play_on_systems(make_loop(music_like(4 * RATE_HZ, RATE_HZ, 3)))
    assert len(matched) == 4
    readings = []
    for one in matched:
        meter = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
        rounds = np.tile(one.loop.samples, (10, 1))
        meter.add_frames(rounds.reshape(-1), rounds.shape[0])
        readings.append(pyebur128.get_loudness_global(meter))
        assert one.true_peak_dbtp <= -1.0
    assert max(readings) - min(readings) < 0.05


def test_what_is_not_there_is_refused() -> None:
    """Sides alone leave nothing in mono, a bass of 30 Hz nothing on a laptop; a name that is none."""
    wave = noise(RATE_HZ * 4, 0.1, 2)
    wave[:, 1] = -wave[:, 0]
    with pytest.raises(BadValue, match="mono: loudness_lufs"):
        play_on_systems(make_loop(wave))
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    bass = np.repeat(0.3 * np.sin(2 * np.pi * 30 * time)[:, None], 2, axis=1)
    with pytest.raises(BadValue, match="laptop"):
        play_on_systems(make_loop(bass), ("laptop",))
    with pytest.raises(BadValue, match="one of mono"):
        limit_to_system(make_loop(wave), "telephone")
