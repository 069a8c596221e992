"""A high-pass on songs whose rumble and lowest note are known: Butterworth in closed form, libebur128's peak."""

from __future__ import annotations

import math

import numpy as np
import pyebur128
import pytest
from scipy.signal import butter, sosfilt

from tests.decisions.steady_songs import RATE_HZ, make_steady
from trainer.audio.clip import Clip
from trainer.decisions.high_pass_check import check_high_pass
from trainer.errors import BadValue

LENGTH_S = 9.0


def make_song(note_hz: float, rumble: float = 0.0, rumble_hz: float = 9.0) -> Clip:
    """Make notes at a frequency and two octaves up, over noise without a bottom, with rumble below them."""
    time = np.arange(int(LENGTH_S * RATE_HZ)) / RATE_HZ
    bed = make_steady(lambda hz: np.where(hz < 150, -80.0, 0.0), 3, LENGTH_S).samples.astype(float)
    gate = np.where((time % 3.0) < 2.0, 1.0, 0.0)
    smooth = np.convolve(gate, np.ones(4800) / 4800, "same")
    low = smooth * (0.2 * np.sin(2 * np.pi * note_hz * time) + 0.1 * np.sin(8 * np.pi * note_hz * time))
    shaken = rumble * np.sin(2 * np.pi * rumble_hz * time)
    return Clip((0.3 * bed + (low + shaken)[:, None]).astype(np.float32), RATE_HZ)


def lose_db(frequency_hz: float, cutoff_hz: float = 20.0) -> float:
    """Give what a second-order Butterworth high-pass takes off, dB (closed form)."""
    return 10 * math.log10(1 + (cutoff_hz / frequency_hz) ** 4)


@pytest.mark.parametrize("note_hz", [41.2, 82.4])
def test_rumble_goes_and_the_notes_stay(note_hz: float) -> None:
    """The lowest note to 0.4 Hz, its loss to 0.05 dB of the closed form, that of the rumble to 0.1 dB."""
    song = make_song(note_hz, 0.05)
    found = check_high_pass(song)
    assert found.lowest_note_hz == pytest.approx(note_hz, abs=0.4)
    assert found.loss_at_lowest_note_db == pytest.approx(lose_db(note_hz), abs=0.05)
    power = float((song.samples.astype(float) ** 2).mean())
    assert found.below_20_hz_db == pytest.approx(10 * math.log10(0.05**2 / 2 / power), abs=0.3)
    assert found.below_20_hz_db - found.below_cutoff_after_db == pytest.approx(lose_db(9.0), abs=0.1)
    assert found.outcome == found.candidate.verdict == "no_harm" and found.candidate.kind == "hygiene"
    assert found.candidate.results["cutoff_hz"] == pytest.approx(20.0, abs=0.1)


def test_the_peak_is_that_of_another_filter_on_another_meter() -> None:
    """scipy's Butterworth filter and libebur128's true peak: the change, with its sign, to 0.1 dB."""
    song = make_song(41.2, 0.05)
    filtered = sosfilt(butter(2, 20.0, "highpass", fs=RATE_HZ, output="sos"), song.samples.astype(float), axis=0)
    peaks = []
    for wave in (song.samples, filtered.astype(np.float32)):
        meter = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_TRUE_PEAK)
        meter.add_frames(np.ascontiguousarray(wave).reshape(-1), wave.shape[0])
        peaks.append(20 * math.log10(max(pyebur128.get_true_peak(meter, channel) for channel in (0, 1))))
    found = check_high_pass(song)
    assert found.peak_change_db == pytest.approx(peaks[1] - peaks[0], abs=0.1)
    assert "highest peak changes" in found.reasons[-1]


def test_a_clean_bottom_needs_none() -> None:
    """Rumble 60 dB below the song: left out, whatever it would do."""
    found = check_high_pass(make_song(55.0, 0.0002))
    assert found.outcome == "not_needed" and found.candidate.verdict == "untried"
    assert "Leave it out" in found.reasons[0]


def test_a_bass_that_loses_is_harm() -> None:
    """A0 at 27.5 Hz loses 1.1 dB at 20 Hz, 12 dB an octave (closed form; common practice, no source)."""
    found = check_high_pass(make_song(27.5, 0.05))
    assert found.loss_at_lowest_note_db == pytest.approx(lose_db(27.5), abs=0.05)
    assert found.outcome == "harm" and "loses 1.1 dB" in found.candidate.reason


def test_peaks_that_rise_are_harm() -> None:
    """Flat tops tip over when their ground tone is turned in phase, as those of limited songs do (common practice)."""
    time = np.arange(int(6 * RATE_HZ)) / RATE_HZ
    tops = 0.5 * np.tanh(20 * np.sin(2 * np.pi * 23.0 * time)) + 0.05 * np.sin(2 * np.pi * 5.0 * time)
    found = check_high_pass(Clip(np.repeat(tops[:, None], 2, axis=1).astype(np.float32), RATE_HZ))
    assert found.peak_change_db > 1.0 and found.outcome == "harm"


def test_without_notes_or_sound() -> None:
    """Noise has no lowest note; silence is refused."""
    assert check_high_pass(make_steady(seed=4, length_s=8.0)).lowest_note_hz is None
    with pytest.raises(BadValue, match="sound in it"):
        check_high_pass(Clip(np.zeros((RATE_HZ * 5, 2), np.float32), RATE_HZ))
