"""Peaks in their course against EBU Tech 3341, closed forms and libebur128."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure import tech_signals as tech
from tests.measure.meters import ebur128_dbtp
from tests.measure.sounds import music_like, noise, sine
from trainer.measure import standards
from trainer.measure.peak_trace import PeakMeter, PeakTrace
from trainer.measure.steps import block_frames
from trainer.measure.true_peak import measure_true_peak

RATES_HZ = (44100, 48000, 96000)
SINES = {15: (4, 0.50, 0.0, -6.0), 16: (4, 0.50, 45.0, -6.0), 17: (6, 0.50, 60.0, -6.0), 18: (8, 0.50, 67.5, -6.0),
         19: (4, 1.41, 45.0, 3.0)}  # fmt: skip


def trace_peaks(wave: np.ndarray, rate_hz: int) -> PeakTrace:
    """Read a sound, shape (frames, channels), in blocks as a file is."""
    meter = PeakMeter(rate_hz, wave.shape[1])
    for first in range(0, max(1, wave.shape[0]), block_frames(rate_hz)):
        meter.add(np.ascontiguousarray(wave[first : first + block_frames(rate_hz)].T, dtype=np.float32))
    return meter.finish()


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("case", sorted(SINES))
def test_cases_15_to_19(case: int, rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1, with 10 ms fades: +0.2 and −0.4 dB; the sample peak as it is known to be."""
    divisor, amplitude, phase_deg, wished = SINES[case]
    tone = sine(rate_hz / divisor, amplitude, rate_hz, rate_hz, phase_deg, fade_s=0.01)
    assert standards.keeps_true_peak_tolerance(trace_peaks(tone, rate_hz).true_peak_dbtp, wished)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("offset", [0, 1, 2, 3])
def test_cases_20_to_23(offset: int, rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1: one period at full scale, between the samples by 0 to 3 quarters of a frame."""
    peak_dbtp = trace_peaks(tech.hidden_peak(rate_hz, offset), rate_hz).true_peak_dbtp
    assert standards.keeps_true_peak_tolerance(peak_dbtp, 0.0)


def test_sample_peaks_hide_what_the_wave_has() -> None:
    """Closed form: fs/4 at 45° reads 3.01 dB less in its samples than its wave is high."""
    trace = trace_peaks(sine(12000, 0.5, 48000, 48000, 45.0, fade_s=0.01), 48000)
    assert trace.true_peak_dbtp - trace.sample_peak_dbfs == pytest.approx(3.0103, abs=0.01)


@pytest.mark.parametrize("rate_hz", [11025, 44100, 48000])
def test_blocks_of_a_file_are_one_file(rate_hz: int) -> None:
    """By definition: read in blocks it is the same sound as read at once.

    libebur128 reads the same to 0.3 dB: there is sound up to Nyquist, where its short filter reads low.

    The peaks stand across the joint of two blocks and at both ends.
    """
    frames = 11 * rate_hz + 77
    wave = noise(frames, 0.05, 3)
    joint = 5 * rate_hz
    for place, height in ((joint - 1, 0.6), (joint, 0.6)):
        wave[place] = height
    trace, whole = trace_peaks(wave, rate_hz), measure_true_peak(wave.astype(np.float32), rate_hz)
    assert trace.true_peak_dbtp == pytest.approx(whole.dbtp, abs=1e-4)
    assert trace.highest_s == pytest.approx(5.0, abs=0.02)
    assert trace.true_peak_dbtp == pytest.approx(ebur128_dbtp(np.pad(wave, ((99, 99), (0, 0))), rate_hz), abs=0.3)
    for place in (0, frames - 1):
        hard = np.zeros((frames, 2), np.float32)
        hard[place] = 0.5
        assert trace_peaks(hard, rate_hz).true_peak_dbtp == pytest.approx(-6.0206, abs=0.01)


def test_each_channel_and_step_has_its_peaks() -> None:
    """By construction: a burst on the right from 1.00 to 1.10 s; elsewhere nothing."""
    wave = np.zeros((96000, 2))
    wave[48000:52800, 1] = sine(997.0, 0.5, 4800, 48000)[:, 0] * np.hanning(4800)
    trace = trace_peaks(wave, 48000)
    assert trace.sample.shape == trace.true.shape == (2, 200)
    assert trace.sample[0].max() == 0.0 and trace.sample[1, 105:].argmax() == 0
    assert trace.sample[1, :100].max() == 0.0 and trace.true[1, :99].max() < 1e-3


def test_agrees_with_libebur128_on_a_beat() -> None:
    """Against libebur128 on a beat: within 0.1 dB, above and below."""
    wave = music_like(6 * 48000, 48000, 2)
    assert trace_peaks(wave, 48000).true_peak_dbtp == pytest.approx(ebur128_dbtp(wave, 48000), abs=0.1)


def test_offset_from_zero() -> None:
    """Closed form: the mean of a constant is the constant, each channel for itself."""
    trace = trace_peaks(noise(7 * 48000, 0.01, 1) * 0 + np.array([0.01, -0.002]), 48000)
    assert trace.offset == (pytest.approx(0.01, abs=1e-6), pytest.approx(-0.002, abs=1e-6))


def test_silence() -> None:
    """The logarithm of nothing (closed form)."""
    trace = trace_peaks(np.zeros((48000, 2)), 48000)
    assert trace.true_peak_dbtp == trace.sample_peak_dbfs == -np.inf
