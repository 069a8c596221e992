"""Loudness in its course against EBU Tech 3341 and 3342, ITU-R BS.1770, libebur128 and ffmpeg."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile
from scipy.signal import sosfreqz

from tests.measure import tech_signals as tech
from tests.measure.meters import Ebur128, ffmpeg_ebur128
from tests.measure.sounds import music_like, noise, sine, tone_steps
from trainer.files.library import list_demo_songs
from trainer.measure import standards
from trainer.measure.loudness import measure_integrated_lufs
from trainer.measure.loudness_trace import LoudnessMeter, measure_loudness_trace
from trainer.measure.weighting import design_k_weighting

RATES_HZ = (44100, 48000, 96000)
# ITU-R BS.1770-5, Annex 1, Tables 1 and 2, at 48 kHz, evaluated in closed form: gain of both filters, dB.
K_DB = {
    20: -13.275, 25: -10.393, 31.5: -7.790, 50: -3.934, 63: -2.664, 100: -1.133, 125: -0.728, 200: -0.265,
    400: -0.015, 500: 0.042, 1000: 0.698, 1250: 1.342, 1500: 2.036, 2000: 3.071, 4000: 3.968, 5000: 4.013,
    10000: 4.042, 20000: 4.043,
}  # fmt: skip


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("case", sorted(tech.INTEGRATED))
def test_cases_1_to_5(case: int, rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1: integrated, and in cases 1 and 2 momentary and short-term, within ±0.1 LU."""
    parts, wished = tech.INTEGRATED[case]
    trace = measure_loudness_trace(tone_steps(parts, rate_hz), rate_hz)
    assert standards.keeps_loudness_tolerance(trace.integrated_lufs, wished)
    if case <= 2:
        assert all(standards.keeps_loudness_tolerance(value, wished) for value in trace.short_term_lufs)
        assert all(standards.keeps_loudness_tolerance(value, wished) for value in trace.momentary_lufs[10:])


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_case_6(rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1, case 6: five channels, −23.0 ± 0.1 LUFS; closed form −23.016."""
    trace = measure_loudness_trace(tech.five_channels(rate_hz), rate_hz, standards.SURROUND_WEIGHTS)
    assert standards.keeps_loudness_tolerance(trace.integrated_lufs, -23.0)
    assert trace.integrated_lufs == pytest.approx(-23.016, abs=0.02)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_cases_9_and_12(rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1: short-term and momentary stay at −23.0 ± 0.1 from 3 s, from 1 s on."""
    short_term = measure_loudness_trace(tech.alternating_short_term(rate_hz), rate_hz).short_term_lufs
    momentary = measure_loudness_trace(tech.alternating_momentary(rate_hz), rate_hz).momentary_lufs
    assert short_term.size > 1000 and momentary[60:].size > 800
    assert all(standards.keeps_loudness_tolerance(value, -23.0) for value in short_term)
    assert all(standards.keeps_loudness_tolerance(value, -23.0) for value in momentary[60:])


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_cases_10_and_13(rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1: maximum short-term, maximum momentary −23.0 ± 0.1 in each of twenty files."""
    for wave in tech.list_short_term_segments(rate_hz):
        highest = measure_loudness_trace(wave, rate_hz).max_short_term_lufs
        assert highest is not None and standards.keeps_loudness_tolerance(highest, -23.0)
    for wave in tech.list_momentary_segments(rate_hz):
        highest = measure_loudness_trace(wave, rate_hz).max_momentary_lufs
        assert highest is not None and standards.keeps_loudness_tolerance(highest, -23.0)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_cases_11_and_14(rate_hz: int) -> None:
    """EBU Tech 3341 (2023), Table 1: maxima of a stream rise from −38 to −19 in steps of 1 LU, each ± 0.1."""
    short_term = measure_loudness_trace(tech.stream_short_term(rate_hz), rate_hz).short_term_lufs
    momentary = measure_loudness_trace(tech.stream_momentary(rate_hz), rate_hz).momentary_lufs
    for i in range(20):
        highest = short_term[max(0, 600 * i - 300) : 600 * i + 300].max()
        assert standards.keeps_loudness_tolerance(float(highest), -38.0 + i)
        highest = momentary[max(0, 80 * i - 40) : 80 * i + 40].max()
        assert standards.keeps_loudness_tolerance(float(highest), -38.0 + i)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("case", sorted(tech.RANGES))
def test_loudness_range(case: int, rate_hz: int) -> None:
    """EBU Tech 3342 (2016), cases 1 to 4, each tone 20 s: within ±1 LU; in closed form within 0.05."""
    levels, wished = tech.RANGES[case]
    wave = tone_steps(tuple((20.0, level) for level in levels), rate_hz)
    found = measure_loudness_trace(wave, rate_hz).loudness_range_lu
    assert found is not None and standards.keeps_range_tolerance(found, wished)
    assert found == pytest.approx(wished, abs=0.05)


def test_k_weighting_table() -> None:
    """ITU-R BS.1770-5, Annex 1, Tables 1 and 2: the gain of both filters at 48 kHz, 20 Hz to 20 kHz, 0.001 dB."""
    _, gain = sosfreqz(design_k_weighting(48000), worN=np.array(list(K_DB)), fs=48000)
    np.testing.assert_allclose(20 * np.log10(np.abs(gain)), list(K_DB.values()), atol=0.001)


@pytest.mark.parametrize("level_lkfs", [-23.0, -24.0])
@pytest.mark.parametrize(
    ("frequency_hz", "peak_dbfs"),
    [(25, -11.916), (100, -21.176), (500, -22.351), (1000, -23.007), (2000, -25.380), (10000, -26.351)],
)
def test_single_tones(frequency_hz: float, peak_dbfs: float, level_lkfs: float) -> None:
    """The tones of Report ITU-R BS.2217, two channels, −23 and −24 LKFS ± 0.1; peaks follow from BS.1770-5."""
    peak = 10 ** ((peak_dbfs + level_lkfs + 23.0) / 20)
    trace = measure_loudness_trace(sine(frequency_hz, peak, 4 * 48000, 48000), 48000)
    assert trace.integrated_lufs == pytest.approx(level_lkfs, abs=0.02)


@pytest.mark.parametrize(("sides", "wished"), [((1.0, 0.0), -3.01), ((0.0, 1.0), -3.01), ((1.0, 1.0), 0.0)])
def test_anchor(sides: tuple[float, float], wished: float) -> None:
    """ITU-R BS.1770-5, Annex 1: a 0 dBFS sine at 997 Hz on one front channel reads −3.01 LKFS; on both, 0.00."""
    tone = sine(997.0, 1.0, 3 * 48000, 48000) * np.array(sides)
    assert measure_loudness_trace(tone, 48000).integrated_lufs == pytest.approx(wished, abs=0.005)


@pytest.mark.parametrize("rate_hz", [32000, 44100, 48000, 96000])
def test_agrees_with_libebur128(rate_hz: int) -> None:
    """Against libebur128 on a beat that swells and stops: M, S, I within 0.001 LU."""
    seconds = 18
    swell = np.repeat([0.2, 1.0, 0.5, 0.05, 0.8, 0.02, 0.6, 0.9], seconds * rate_hz // 8 + 1)[: seconds * rate_hz, None]
    wave = np.tile(music_like(3 * rate_hz, rate_hz, 4), (seconds // 3, 1)) * swell
    trace, other = measure_loudness_trace(wave, rate_hz), Ebur128(wave, rate_hz)
    assert trace.integrated_lufs == pytest.approx(other.integrated_lufs, abs=0.001)
    np.testing.assert_allclose(trace.momentary_lufs[::10], other.momentary_lufs, atol=0.001)
    np.testing.assert_allclose(trace.short_term_lufs[::10], other.short_term_lufs, atol=0.001)


def test_a_song_agrees_with_libebur128_and_ffmpeg() -> None:
    """libebur128 and ffmpeg's ebur128 on a demo song at three levels in turn: I 0.001 and 0.1, range 0.1 LU.

    libebur128 takes a short-term value once a second where EBU Tech 3342 (2016) asks for ten; in under two minutes
    that alone moves the range by up to 0.2 LU, so the song is read three times over.
    """
    entry = list_demo_songs()[0]
    samples, rate_hz = soundfile.read(entry.path, dtype="float32")
    wave = np.concatenate([samples, 0.3 * samples, 0.6 * samples])
    trace, shown = measure_loudness_trace(wave, rate_hz), ffmpeg_ebur128(wave, rate_hz)
    other = Ebur128(wave, rate_hz)
    assert trace.integrated_lufs == pytest.approx(other.integrated_lufs, abs=0.001)
    assert trace.loudness_range_lu == pytest.approx(other.loudness_range_lu, abs=0.1)
    assert trace.integrated_lufs == pytest.approx(shown["I"], abs=0.06)
    assert trace.loudness_range_lu == pytest.approx(shown["LRA"], abs=0.1)


@pytest.mark.parametrize("rate_hz", [11025, 44100, 48000])
def test_blocks_of_a_file_are_one_file(rate_hz: int) -> None:
    """By definition: read in blocks of 5 s it is the same sound; and as the plain reading of the whole."""
    wave = noise(13 * rate_hz + 1234, 0.1, 6)
    whole = measure_loudness_trace(wave, rate_hz)
    meter = LoudnessMeter(rate_hz, 2)
    for first in range(0, wave.shape[0], 5 * rate_hz):
        meter.add(wave[first : first + 5 * rate_hz].T)
    np.testing.assert_array_equal(whole.power, meter.finish().power)
    assert whole.integrated_lufs == pytest.approx(measure_integrated_lufs(wave, rate_hz), abs=0.001)


def test_mono_sum() -> None:
    """Closed form: equal sides keep their loudness in (L + R) / 2, one side alone is 3.01 dB softer on both."""
    tone = sine(997.0, 0.1, 4 * 48000, 48000)
    for sides, change in (((1.0, 1.0), 0.0), ((1.0, 0.0), -3.0103)):
        meter = LoudnessMeter(48000, 2)
        meter.add((tone * np.array(sides)).T)
        assert meter.finish_mono().integrated_lufs - meter.finish().integrated_lufs == pytest.approx(change, abs=1e-3)
    meter = LoudnessMeter(48000, 2)
    meter.add((tone * np.array([1.0, -1.0])).T)
    assert meter.finish_mono().integrated_lufs == -np.inf


@pytest.mark.parametrize("frames", [0, 1, 480, 19199])
def test_short_sounds_have_no_loudness(frames: int) -> None:
    """ITU-R BS.1770-5: no block of 400 ms, no loudness; EBU Tech 3341: no 3 s, no short-term loudness."""
    trace = measure_loudness_trace(noise(frames, 0.1, 1), 48000)
    assert trace.integrated_lufs == -np.inf
    assert (trace.max_momentary_lufs, trace.max_short_term_lufs, trace.loudness_range_lu) == (None, None, None)


def test_silence() -> None:
    """The logarithm of nothing (closed form), and no range."""
    trace = measure_loudness_trace(np.zeros((200000, 2)), 48000)
    assert trace.integrated_lufs == trace.max_momentary_lufs == trace.max_short_term_lufs == -np.inf
    assert trace.loudness_range_lu is None
