"""Bands heard alone: the Butterworth curve in closed form, gains that stay, peaks on libebur128."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pyebur128
import pytest

from tests.measure.sounds import noise
from trainer.audio.clip import Clip
from trainer.decisions.balance import BalanceRow
from trainer.decisions.balance_parts import EVERYTHING, PARTS, choose_length_s, find_part, hear_parts, make_part
from trainer.decisions.balance_reading import BANDS_HZ

RATE_HZ = 48000


def make_loop(wave: npt.NDArray[np.floating]) -> Clip:
    """Make a clip of a wave."""
    return Clip(np.ascontiguousarray(wave, dtype=np.float32), RATE_HZ)


def make_tones(levels: dict[float, float]) -> Clip:
    """Make 4 s of tones that go round without a step, by frequency and amplitude, alike on both channels."""
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    wave = np.sum([level * np.sin(2 * np.pi * hz * time) for hz, level in levels.items()], axis=0)
    return make_loop(np.repeat(wave[:, None], 2, axis=1))


def _cut_short(loop: Clip) -> Clip:
    """Keep the first second: fifty whole waves."""
    return loop.with_samples(loop.samples[:RATE_HZ])


def read_level_db(samples: npt.NDArray[np.float32]) -> float:
    """Give the RMS level of a channel, dBFS."""
    return 10 * math.log10(float((samples[:, 0].astype(np.float64) ** 2).mean()))


@pytest.mark.parametrize("name", [name for name in PARTS if name != EVERYTHING])
def test_a_part_is_the_butterworth_curve(name: str) -> None:
    """Order 4 by the bilinear transform, w(f) = tan(π f / rate): 1 / √(1 + (w_low/w)^8) · 1 / √(1 + (w/w_high)^8)."""
    part, wave = PARTS[name], noise(2 * RATE_HZ, 0.1, 1)
    out = make_part(make_loop(wave), name).samples
    lines = np.fft.rfftfreq(wave.shape[0], 1 / RATE_HZ)
    gain = np.abs(np.fft.rfft(out[:, 0])) / np.abs(np.fft.rfft(wave[:, 0].astype(np.float32)))
    for hz in (60.0, 120.0, 240.0, 500.0, 1000.0, 2000.0, 5000.0, 8000.0):
        w, low = math.tan(math.pi * hz / RATE_HZ), math.tan(math.pi * part.low_hz / RATE_HZ)
        high = math.inf if math.isinf(part.high_hz) else math.tan(math.pi * part.high_hz / RATE_HZ)
        expected = 1 / math.sqrt(1 + (low / w) ** 8) / math.sqrt(1 + (w / high) ** 8)
        if expected > 10 ** (-60 / 20):
            measured = float(gain[int(np.argmin(np.abs(lines - hz)))])
            assert 20 * math.log10(measured / expected) == pytest.approx(0.0, abs=0.03)


def test_a_difference_in_a_band_is_heard_as_what_it_is() -> None:
    """Half the amplitude at 50 Hz is 6.02 dB less in the bottom, and none in the mids: nothing is matched there."""
    songs = (make_tones({50: 0.1, 1000: 0.1}), make_tones({50: 0.05, 1000: 0.1}))
    heard = hear_parts(songs)
    assert heard.turned_db == 0.0 and heard.sounds.shape[0] == 2 * len(PARTS)
    assert np.array_equal(heard.sounds[1], songs[1].samples)
    places = list(PARTS)
    for name, expected in (("bottom", 6.02), ("mids", 0.0)):
        first = 2 * places.index(name)
        levels = [read_level_db(heard.sounds[first + song]) for song in (0, 1)]
        assert levels[0] - levels[1] == pytest.approx(expected, abs=0.02)
        assert levels[0] == pytest.approx(20 * math.log10(0.1 / math.sqrt(2)), abs=0.1)


def test_no_band_passes_the_ceiling_and_all_are_turned_alike() -> None:
    """A square wave of height 0.8 has a first harmonic of 0.8 · 4/π = 1.02: alone it would pass −1 dBTP."""
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    square = 0.8 * np.sign(np.sin(2 * np.pi * 50 * time + 1e-9))
    songs = tuple(
        _cut_short(each) for each in (make_loop(np.repeat(square[:, None], 2, axis=1)), make_tones({50: 0.1}))
    )
    heard = hear_parts(songs)
    assert heard.true_peak_dbtp <= -1.0
    for sound in heard.sounds:
        meter = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_TRUE_PEAK)
        rounds = np.tile(sound, (2, 1))
        meter.add_frames(rounds.reshape(-1), rounds.shape[0])
        assert 20 * math.log10(max(pyebur128.get_true_peak(meter, channel) for channel in (0, 1))) <= -1.0
    gain = 10 ** (heard.turned_db / 20)
    assert heard.turned_db < 0 and np.abs(heard.sounds[1] - gain * songs[1].samples).max() < 1e-6


def test_every_row_is_heard_in_the_part_that_holds_it() -> None:
    """By arithmetic: a band's middle lies within its part; density has no part of its own."""
    for low, high in BANDS_HZ:
        for kind in ("band", "width"):
            part = PARTS[find_part(BalanceRow(kind, (low, high), 0.0, 0.0, ()))]  # type: ignore[arg-type]
            assert part.low_hz <= low and (high <= part.high_hz)
            assert "Hz" in part.about or "kHz" in part.about
    assert find_part(BalanceRow("hits", None, 0.0, 0.0, ())) == EVERYTHING


def test_many_songs_are_heard_on_shorter_stretches() -> None:
    """A mix and three references get 8 s; a mix and ten no less than 4 s, and all their sound fits (arithmetic)."""
    assert choose_length_s(4) == 8.0
    assert 4.0 <= choose_length_s(11) < 8.0
    assert choose_length_s(11) * 11 * len(PARTS) <= 400.0
