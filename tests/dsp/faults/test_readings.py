"""Each fault read a second time, by code that shares nothing with its maker."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import butter, freqz_sos, welch

from tests.dsp.faults.songs import RATE_HZ, beat, ending, voice, white
from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from trainer.audio.clip import Clip
from trainer.dsp.faults.bad_edit import plant_bad_edit
from trainer.dsp.faults.click import plant_click
from trainer.dsp.faults.clipped_run import plant_clipped_run
from trainer.dsp.faults.dropout import plant_dropout
from trainer.dsp.faults.ending import plant_abrupt_end, plant_short_fade
from trainer.dsp.faults.intersample import plant_intersample_over
from trainer.dsp.faults.pop import plant_pop
from trainer.dsp.faults.sibilance import sharpen_sibilants
from trainer.dsp.faults.steady import plant_hiss, plant_hum, plant_rumble
from trainer.errors import BadValue, NotReachable


def _filter(wave: np.ndarray, corner_hz: float, kind: str) -> np.ndarray:
    """Apply the stated Butterworth response by multiplying spectra, with room for its tail."""
    padded = np.concatenate([wave, np.zeros(RATE_HZ)])
    _, response = freqz_sos(butter(4, corner_hz, kind, fs=RATE_HZ, output="sos"), padded.size // 2 + 1, fs=RATE_HZ)
    bins = np.fft.rfftfreq(padded.size, 1 / RATE_HZ)
    curve = np.interp(bins, np.linspace(0, RATE_HZ / 2, response.size, endpoint=False), response)
    return np.asarray(np.fft.irfft(np.fft.rfft(padded) * curve, padded.size)[: wave.size])


def _added(before: Clip, after: Clip) -> np.ndarray:
    return after.samples.astype(np.float64) - before.samples


def _rms_db(wave: np.ndarray) -> float:
    return 10 * math.log10(float(np.mean(np.square(wave))))


@pytest.mark.parametrize("strength_db", [6.0, 12.0, 30.0])
def test_a_click_stands_as_far_out_as_it_says(strength_db: float) -> None:
    """Its own definition, by spectra: peak of the click over RMS of the 100 ms around it, both above 4 kHz."""
    song, at = white(2.0, 0.05), 50_000
    planted = plant_click(song, at / RATE_HZ, strength_db, "left")
    click = _added(song, planted.clip)
    assert np.flatnonzero(click.any(axis=1)).tolist() == [at, at + 1]
    assert not click[:, 1].any() and planted.channel == "left"
    around = _filter(song.samples[:, 0].astype(np.float64), 4000.0, "highpass")[at - 2400 : at + 2400]
    peak = np.abs(_filter(click[:, 0], 4000.0, "highpass")).max()
    assert 20 * math.log10(peak) - _rms_db(around) == pytest.approx(strength_db, abs=0.05)
    assert planted.strength == pytest.approx(strength_db, abs=0.01)
    assert planted.place_s == pytest.approx(at / RATE_HZ)


def test_a_pop_is_low_and_as_strong_as_it_says() -> None:
    """By spectra: at least 98 % of its power below 100 Hz; its RMS over 80 ms against 500 ms of song, both low."""
    song, at = beat(), 60_000
    planted = plant_pop(song, at / RATE_HZ, 15.0)
    pop = _added(song, planted.clip)[:, 0]
    power = np.abs(np.fft.rfft(pop)) ** 2
    assert power[np.fft.rfftfreq(pop.size, 1 / RATE_HZ) < 100].sum() > 0.98 * power.sum()
    place = slice(at, at + int(0.08 * RATE_HZ))
    around = _filter(song.samples[:, 0].astype(np.float64), 100.0, "lowpass")
    right = _filter(song.samples[:, 1].astype(np.float64), 100.0, "lowpass")
    both = np.concatenate([side[at - RATE_HZ // 4 : at + RATE_HZ // 4] for side in (around, right)])
    assert _rms_db(_filter(pop, 100.0, "lowpass")[place]) - _rms_db(both) == pytest.approx(15.0, abs=0.1)
    assert planted.strength == pytest.approx(15.0, abs=0.02)


@pytest.mark.parametrize(("plant", "percent"), [(plant_hiss, 1.0), (plant_hum, 2.0), (plant_hum, 0.1)])
def test_steady_faults_lie_as_far_below_as_libebur128_reads(plant: object, percent: float) -> None:
    """20 log10 of the share is the difference of two readings of libebur128 (BS.1770)."""
    song = white(4.0, 0.1)
    planted = plant(song, percent)  # type: ignore[operator]
    # Read alone, a hundred times louder: softer sound would fall below the meter's absolute gate.
    alone_lufs = ebur128_lufs(100 * _added(song, planted.clip), RATE_HZ) - 40.0
    below_db = alone_lufs - ebur128_lufs(song.samples, RATE_HZ)
    assert below_db == pytest.approx(20 * math.log10(percent / 100), abs=0.05)
    assert planted.strength == pytest.approx(percent, rel=0.002)


@pytest.mark.parametrize("mains_hz", [50.0, 60.0])
def test_hum_is_the_mains_and_its_multiples(mains_hz: float) -> None:
    """By FFT of one second: nothing between the lines; the lines fall by 1/k, the even ones half as strong."""
    hum = _added(beat(), plant_hum(beat(), 10.0, mains_hz).clip)
    assert np.allclose(hum[:, 0], hum[:, 1], atol=1e-6)
    lines = np.abs(np.fft.rfft(hum[:RATE_HZ, 0]))
    wished = [1.0 / k if k % 2 else 0.5 / k for k in range(1, 11)]
    held = lines[[int(k * mains_hz) for k in range(1, 11)]]
    np.testing.assert_allclose(held / held[0], wished, rtol=0.01)
    between = np.delete(lines, [int(k * mains_hz) for k in range(1, 11)])
    assert between.max() < 1e-3 * held[0]


def test_hiss_is_on_top_and_apart_on_both_sides() -> None:
    """By FFT: four fifths of its power and more above 2 kHz; the sides hardly correlate."""
    hiss = _added(beat(), plant_hiss(beat(), 10.0).clip)
    power = (np.abs(np.fft.rfft(hiss, axis=0)) ** 2).sum(axis=1)
    assert power[np.fft.rfftfreq(hiss.shape[0], 1 / RATE_HZ) > 2000].sum() > 0.8 * power.sum()
    assert abs(np.corrcoef(hiss.T)[0, 1]) < 0.02


def test_rumble_is_below_20_hz() -> None:
    """By FFT: 99 % below 20 Hz; plain RMS as far below the song as asked."""
    planted = plant_rumble(beat(), 26.0)
    rumble = _added(beat(), planted.clip)
    power = (np.abs(np.fft.rfft(rumble, axis=0)) ** 2).sum(axis=1)
    assert power[np.fft.rfftfreq(rumble.shape[0], 1 / RATE_HZ) < 20].sum() > 0.99 * power.sum()
    assert _rms_db(rumble) - _rms_db(beat().samples) == pytest.approx(-26.0, abs=0.02)
    assert planted.strength == pytest.approx(-26.0, abs=0.02)


def test_a_dropout_is_silence_of_its_length() -> None:
    """Counted on a constant: half of the amplitude is passed 20 ms apart, 19 ms are digital silence."""
    song = Clip(np.full((RATE_HZ, 2), 0.5, np.float32), RATE_HZ)
    planted = plant_dropout(song, 0.4, 20.0, "right")
    heard = planted.clip.samples[:, 1]
    assert np.count_nonzero(heard < 0.25) == pytest.approx(960, abs=1)
    assert np.count_nonzero(heard == 0) == pytest.approx(912, abs=2)
    assert int(np.flatnonzero(heard < 0.25)[0]) == pytest.approx(19200, abs=1)
    np.testing.assert_array_equal(planted.clip.samples[:, 0], song.samples[:, 0])
    assert planted.strength == pytest.approx(20.0, abs=0.05)


@pytest.mark.parametrize("wished", [2, 4, 8, 20])
@pytest.mark.parametrize("at_s", [0.52, 1.53, 2.51])
def test_a_clipped_run_has_so_many_equal_samples(wished: int, at_s: float) -> None:
    """Counted one by one: the longest run of equal samples that were not equal before."""
    song = beat()
    planted = plant_clipped_run(song, at_s, wished)
    longest = 0
    for was, now in zip(song.samples.T, planted.clip.samples.T, strict=True):
        run = 1
        for n in range(int((at_s - 0.02) * RATE_HZ), int((at_s + 0.02) * RATE_HZ)):
            run = run + 1 if now[n] == now[n - 1] and (now[n] != was[n] or now[n - 1] != was[n - 1]) else 1
            longest = max(longest, run)
    assert planted.strength == longest
    assert wished <= longest <= wished + 4
    # What is cut is cut: nothing is larger than it was.
    assert (np.abs(planted.clip.samples) <= np.abs(song.samples)).all()


def test_sibilance_rises_in_its_band_and_only_there() -> None:
    """By Welch's method on the s sounds: 6 dB more between 5.5 and 8.5 kHz, nothing between 200 Hz and 3 kHz."""
    song, planted = voice(), sharpen_sibilants(voice(), 6.0)
    changed = _added(song, planted.clip).any(axis=1)
    spectra = []
    for clip in (song, planted.clip):
        parts = [clip.samples[int((s - 0.02) * RATE_HZ) : int((s + 0.02) * RATE_HZ), 0] for s in (0.5, 1.2, 2.0)]
        spectra.append(np.mean([welch(part, RATE_HZ, nperseg=1024)[1] for part in parts], axis=0))
    bins = np.fft.rfftfreq(1024, 1 / RATE_HZ)
    inside, outside = (bins > 5500) & (bins < 8500), (bins > 200) & (bins < 3000)
    assert 10 * math.log10(spectra[1][inside].sum() / spectra[0][inside].sum()) == pytest.approx(6.0, abs=0.4)
    assert 10 * math.log10(spectra[1][outside].sum() / spectra[0][outside].sum()) == pytest.approx(0.0, abs=0.05)
    # Between the s sounds the song is as it was, bit for bit.
    assert not changed[: int(0.3 * RATE_HZ)].any() and not changed[int(1.5 * RATE_HZ) : int(1.75 * RATE_HZ)].any()


def test_a_bad_edit_takes_its_time_out() -> None:
    """Pulses every 10 ms: those behind the join come 37 ms early, and later ones where they were."""
    samples = np.zeros((RATE_HZ, 2), np.float32)
    samples[np.arange(0, RATE_HZ, 480)] = np.linspace(0.1, 1.0, 100)[:, None]
    song = Clip(samples, RATE_HZ)
    planted = plant_bad_edit(song, 0.305, 37.0)
    skipped = int(0.037 * RATE_HZ)
    inside = slice(int(0.31 * RATE_HZ), int(0.68 * RATE_HZ))
    moved = planted.clip.samples[inside]
    np.testing.assert_allclose(moved, samples[inside.start + skipped : inside.stop + skipped], atol=1e-7)
    np.testing.assert_array_equal(planted.clip.samples[int(0.71 * RATE_HZ) :], samples[int(0.71 * RATE_HZ) :])
    assert planted.strength == pytest.approx(37.0, abs=0.03)
    assert planted.clip.frames == song.frames


@pytest.mark.parametrize("plant", [plant_abrupt_end, plant_short_fade])
def test_an_ending_misses_its_tail(plant: object) -> None:
    """An exponential tail is 60 dB down after ln(1000) of its time constants (closed form); 700 ms earlier is silence.

    Within 60 ms: the tail is noise, and levels are taken over 50 ms.
    """
    song = ending(0.3)
    planted = plant(song, 700.0)  # type: ignore[operator]
    heard = np.flatnonzero(np.abs(planted.clip.samples).max(axis=1) > 1e-4)
    assert heard[-1] / RATE_HZ == pytest.approx(1.0 + 0.3 * math.log(1000) - 0.7, abs=0.06)
    assert not planted.clip.samples[int((1.0 + 0.3 * math.log(1000) - 0.6) * RATE_HZ) :].any()
    assert planted.strength == pytest.approx(700.0, abs=0.1)
    with pytest.raises(NotReachable):
        plant(song, 2500.0)  # type: ignore[operator]
    with pytest.raises(NotReachable):
        plant(beat(), 100.0)  # type: ignore[operator]


@pytest.mark.parametrize("over_db", [0.5, 1.5, 3.0])
def test_an_over_is_seen_by_libebur128_and_not_by_the_samples(over_db: float) -> None:
    """Samples reach full scale and no further; libebur128's true peak shows the over. It reads four points a sample
    and can miss the crest of such a tone by 20 log10(cos 11.25 degrees), 0.17 dB.

    A sine of a quarter of the rate sampled at 45 degrees is 3.01 dB higher than its samples (closed form).
    """
    planted = plant_intersample_over(beat(), 1.7, over_db)
    assert np.abs(planted.clip.samples).max() <= 1.0
    assert ebur128_dbtp(planted.clip.samples, RATE_HZ) == pytest.approx(over_db, abs=0.2)
    assert planted.strength == pytest.approx(over_db, abs=0.05)
    with pytest.raises(BadValue):
        plant_intersample_over(beat(), 1.7, 3.2)


@pytest.mark.parametrize("at_s", [-0.1, 4.0, float("nan")])
def test_places_outside_are_refused(at_s: float) -> None:
    """One line, with the clip's length."""
    for plant in (plant_click, plant_pop, plant_dropout, plant_intersample_over, plant_bad_edit):
        with pytest.raises(BadValue) as caught:
            plant(beat(), at_s, 2.0)
        assert "at_s" in str(caught.value)
    with pytest.raises(BadValue):
        plant_click(beat(), 1.0, 12.0, "middle")
