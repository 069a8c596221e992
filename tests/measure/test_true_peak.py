"""True peak against EBU Tech 3341, closed forms, libebur128 and ffmpeg."""

from __future__ import annotations

import numpy as np
import pytest

from tests.measure.meters import ebur128_dbtp, ffmpeg_dbtp, long_dbtp_of_loop
from tests.measure.sounds import music_like, noise, sine
from trainer.measure.true_peak import follow_true_peak, measure_loop_true_peak, measure_true_peak

TECH_3341 = {
    15: (4, 0.50, 0.0, -6.0),
    16: (4, 0.50, 45.0, -6.0),
    17: (6, 0.50, 60.0, -6.0),
    18: (8, 0.50, 67.5, -6.0),
    19: (4, 1.41, 45.0, 3.0),
}


@pytest.mark.parametrize("rate_hz", [44100, 48000, 96000])
@pytest.mark.parametrize("case", sorted(TECH_3341))
def test_minimum_requirements(case: int, rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1, cases 15 to 19, with 10 ms fades: +0.2 and −0.4 dB on both readings."""
    divisor, amplitude, phase_deg, wished = TECH_3341[case]
    tone = sine(rate_hz / divisor, amplitude, rate_hz // 2, rate_hz, phase_deg, fade_s=0.01)
    reading = measure_true_peak(tone.astype(np.float32), rate_hz)
    for value in (reading.long_dbtp, reading.short_dbtp, reading.dbtp):
        assert wished - 0.4 <= value <= wished + 0.2
    # Closed form, much closer: the long reading is the amplitude itself.
    assert reading.long_dbtp == pytest.approx(20 * np.log10(amplitude), abs=0.01)


def _with_faded_ends(samples: np.ndarray, frames: int = 960) -> np.ndarray:
    fade = np.linspace(0, 1, frames)[:, None]
    faded = samples.copy()
    faded[:frames] *= fade
    faded[-frames:] *= fade[::-1]
    return faded.astype(np.float32)


@pytest.mark.parametrize("rate_hz", [44100, 48000, 96000, 192000])
@pytest.mark.parametrize("seed", [1, 2])
def test_short_reading_is_what_libebur128_shows(rate_hz: int, seed: int) -> None:
    """Against libebur128 on white noise and on a beat: 0.001 dB."""
    for samples in (noise(40000, 0.2, seed), music_like(48000, rate_hz, seed)):
        faded = _with_faded_ends(samples)
        assert measure_true_peak(faded, rate_hz).short_dbtp == pytest.approx(ebur128_dbtp(faded, rate_hz), abs=0.001)


def test_agrees_with_ffmpeg() -> None:
    """ffmpeg's ebur128 filter reads four times oversampled and shows one decimal: within 0.15 dB on a beat."""
    faded = _with_faded_ends(music_like(96000, 48000, 3))
    assert measure_true_peak(faded, 48000).long_dbtp == pytest.approx(ffmpeg_dbtp(faded, 48000), abs=0.15)


@pytest.mark.parametrize("frequency_hz", [50, 997, 7350, 12000, 15000, 18000, 20000])
@pytest.mark.parametrize("phase_deg", [0.0, 33.0, 71.0])
def test_long_reading_of_a_sine_is_its_amplitude(frequency_hz: float, phase_deg: float) -> None:
    """Closed form: a sine's highest point is its amplitude; 16 phases miss at most 0.029 dB of it at 20 kHz."""
    loop = sine(frequency_hz, 0.8, 48000, 48000, phase_deg).astype(np.float32)
    reading = measure_loop_true_peak(loop, 48000)
    assert reading.long_dbtp == pytest.approx(20 * np.log10(0.8), abs=0.03)
    assert reading.dbtp == max(reading.long_dbtp, reading.short_dbtp)


def test_long_reading_of_a_loop_is_that_of_its_fourier_series() -> None:
    """A periodic band-limited wave is its Fourier series: zero-padding the spectrum gives it exactly."""
    for frames in (4801, 4830, 4863, 6400):
        spectrum = np.fft.rfft(noise(frames, 0.2, frames), axis=0)
        spectrum[int(frames * 21000 / 48000) :] = 0
        loop = np.fft.irfft(spectrum, n=frames, axis=0).astype(np.float32)
        exact = np.abs(np.fft.irfft(spectrum, n=16 * frames, axis=0) * 16).max()
        assert measure_loop_true_peak(loop, 48000).long_dbtp == pytest.approx(20 * np.log10(exact), abs=0.01)


def test_a_loop_ending_inside_a_stretch_is_read_across_its_seam() -> None:
    """Closed form: a sine at fs/4, 0.5 high, is −6.02 dBTP however many of its periods the loop holds."""
    for periods in (2401, 2402, 2405, 2409, 2414, 2415):
        loop = sine(12000, 0.5, 4 * periods, 48000, 45.0).astype(np.float32)
        assert measure_loop_true_peak(loop, 48000).long_dbtp == pytest.approx(-6.0206, abs=0.003)


def test_a_peak_across_the_seam_is_seen_in_a_loop_only() -> None:
    """Closed form: two equal neighbouring samples of 1 have a wave of sinc(½) + sinc(½) = 4/π between them."""
    loop = np.zeros((4800, 2), np.float32)
    loop[0] = loop[-1] = 0.5
    assert measure_loop_true_peak(loop, 48000).long_dbtp == pytest.approx(20 * np.log10(2 / np.pi), abs=0.02)
    assert measure_true_peak(loop, 48000).long_dbtp == pytest.approx(20 * np.log10(0.5), abs=0.02)


@pytest.mark.parametrize("shift", [1, 31, 64, 500])
def test_a_loop_has_no_beginning(shift: int) -> None:
    """The endless repetition is the same sound wherever it is said to begin (definition)."""
    loop = noise(5000, 0.2, 9).astype(np.float32)
    one, other = (measure_loop_true_peak(np.roll(loop, s, axis=0), 48000) for s in (0, shift))
    assert one.short_dbtp == pytest.approx(other.short_dbtp, abs=1e-4)
    assert one.long_dbtp == pytest.approx(other.long_dbtp, abs=1e-3)


def test_both_readings_of_a_loop_against_outside_meters() -> None:
    """Against libebur128 on three rounds, and a 16-times, 160-tap float64 meter: 0.001 and 0.02 dB."""
    loop = music_like(96000, 48000, 4).astype(np.float32)
    reading = measure_loop_true_peak(loop, 48000)
    assert reading.short_dbtp == pytest.approx(ebur128_dbtp(np.tile(loop, (3, 1)), 48000), abs=0.001)
    assert reading.long_dbtp == pytest.approx(long_dbtp_of_loop(loop), abs=0.02)


def test_silence_and_single_frames() -> None:
    """Closed form: silence is −∞; one frame alone is a sinc, whose highest point is the frame."""
    assert measure_true_peak(np.zeros((1000, 2), np.float32), 48000).dbtp == -np.inf
    assert measure_loop_true_peak(np.zeros((1000, 2), np.float32), 48000).dbtp == -np.inf
    one = np.array([[0.0, -0.5]], np.float32)
    assert measure_true_peak(one, 48000).dbtp == pytest.approx(-6.0206, abs=0.001)
    # The same frame for ever is a constant.
    assert measure_loop_true_peak(one, 48000).dbtp == pytest.approx(-6.0206, abs=0.1)


def test_a_hard_start_is_read_before_its_first_frame_too() -> None:
    """libebur128 on the same sound with silence in front: the wave already swings before a hard start."""
    time = np.arange(400)[:, None]
    hard = (0.5 * np.cos(0.9 * np.pi * time) * np.exp(-time / 30.0) * np.ones(2)).astype(np.float32)
    padded = np.pad(hard, ((200, 200), (0, 0)))
    assert measure_true_peak(hard, 48000).short_dbtp == pytest.approx(ebur128_dbtp(padded, 48000), abs=0.001)


def test_following_shows_where_the_peaks_are() -> None:
    """Closed form: in a burst of fs/4 at 45°, samples read 0.707 of the amplitude and the wave between them 1."""
    samples = np.zeros((4000, 2))
    burst = sine(12000, 0.8, 1000, 48000, 45.0) * np.hanning(1000)[:, None]
    samples[1500:2500] = burst
    peaks = follow_true_peak(samples.astype(np.float32), 48000, 0.1)
    assert peaks.shape == (4000,)
    assert peaks[:1400].max() < 1e-3
    envelope = 0.8 * np.hanning(1000)
    highest = np.maximum.reduceat(peaks[1500:2500], np.arange(0, 1000, 4))
    near = np.maximum.reduceat(envelope, np.arange(0, 1000, 4))
    np.testing.assert_allclose(highest[30:-30], near[30:-30], rtol=0.02)
