"""Bounces on the beam: equally loud on outside meters, and differences of known size read as what they are."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import butter, sosfilt

from tests.measure.meters import ebur128_dbtp, ebur128_lufs
from tests.measure.recordings import RATE_HZ, cut_song, put_silence_before
from tests.measure.sounds import noise
from trainer.audio.file_form import FileForm
from trainer.decisions.bounces import Bounce, Stretch, align_bounces, keep_common, propose_stretches
from trainer.decisions.evidence import Evidence
from trainer.decisions.weighing import StretchWish, Weighing, list_weighing, weigh_bounces
from trainer.decisions.weighing_words import word_weighing
from trainer.errors import BadValue
from trainer.measure.alignment import Recording
from trainer.measure.faults.scan import scan_faults

SONG = cut_song("nine_lanterns_on_the_slipway", 20.0, 11.0)
SHORT = StretchWish(2.0, 4.0)
Sound = npt.NDArray[np.floating]


def make_bounce(name: str, samples: Sound) -> Bounce:
    """Hold an array as if it had been read from a file."""
    stored = np.ascontiguousarray(samples, dtype=np.float32)
    programme, scan = scan_faults(stored, RATE_HZ)
    form = FileForm(f"{name}.wav", "WAV", "FLOAT", RATE_HZ, 2, stored.shape[0], 32)
    return Bounce(f"{name}.wav", Recording(stored, RATE_HZ), Evidence(form, programme, scan))


@cache
def make_first() -> Bounce:
    """Hold the song itself, measured once."""
    return make_bounce("a", SONG)


def weigh(*sounds: Sound, wish: StretchWish = SHORT) -> Weighing:
    """Align and weigh arrays, none of which may be left out."""
    made = tuple(
        make_first() if sound is SONG else make_bounce("abcdefgh"[number], sound) for number, sound in enumerate(sounds)
    )
    bounces, strangers = align_bounces(made)
    weighing, refused = weigh_bounces(bounces, wish)
    assert weighing is not None and not strangers and not refused and len(weighing.bounces) == len(sounds)
    return weighing


def turn_band(samples: Sound, low_hz: float, high_hz: float, gain_db: float) -> Sound:
    """Turn what lies between two frequencies, line by line of the whole spectrum."""
    spectrum = np.fft.rfft(samples, axis=0)
    hertz = np.fft.rfftfreq(samples.shape[0], 1 / RATE_HZ)
    spectrum[(hertz >= low_hz) & (hertz < high_hz)] *= 10 ** (gain_db / 20)
    return np.asarray(np.fft.irfft(spectrum, samples.shape[0], axis=0))


def test_equally_loud_on_an_outside_meter_and_under_the_ceiling() -> None:
    """Outside meter: libebur128 on the stretch, tiled; spread 0.05 LU and −1 dBTP (EBU R 128) at most."""
    low = sosfilt(butter(1, 200, fs=RATE_HZ, output="sos"), SONG, axis=0)
    weighing = weigh(SONG, np.tanh(8 * SONG), put_silence_before(0.1 * (SONG + low), 777), -2.0 * SONG[:, ::-1])
    loops = [matched.loop.samples for matched in weighing.matched]
    outside = [ebur128_lufs(np.tile(loop, (8, 1)), RATE_HZ) for loop in loops]
    assert max(outside) - min(outside) <= 0.05 and weighing.spread_lu <= 0.01
    assert max(ebur128_dbtp(np.tile(loop, (2, 1)), RATE_HZ) for loop in loops) <= -1.0
    assert {loop.shape for loop in loops} == {(4 * RATE_HZ, 2)}


def test_what_is_cut_is_in_step() -> None:
    """By construction: the bounce that is late, upside down and crossed is the first again, bit for bit but level."""
    weighing = weigh(SONG, put_silence_before(-0.5 * SONG[:, ::-1], 4321))
    first, second = (matched.loop.samples for matched in weighing.matched)
    assert np.abs(first - second).max() < 1e-6
    (found,) = weighing.differences
    assert found.level_only and found.residual.gain_db == pytest.approx(20 * np.log10(0.5), abs=1e-4)
    assert "apart from level, turned by −6.02 dB" in list_weighing(weighing)["differences"][0]["sentences"][0]


@pytest.mark.parametrize("below_db", [20.0, 40.0, 60.0])
def test_the_residual_of_added_noise(below_db: float) -> None:
    """Closed form: independent noise that lies so far below the song is what the best gain leaves of it."""
    other = noise(SONG.shape[0], 1.0, 3)
    other *= np.sqrt(np.mean(SONG**2) / np.mean(other**2)) * 10 ** (-below_db / 20)
    (found,) = weigh(SONG, 0.7 * (SONG + other)).differences
    expected = -10 * np.log10(1 + 10 ** (below_db / 10))
    assert found.residual.below_song_db == pytest.approx(expected, abs=0.1)
    assert not found.level_only


def test_shorter_words_are_no_difference_but_a_tenth_of_a_decibel_is() -> None:
    """Lipshitz, Wannamaker, Vanderkooy 1992: triangular dither leaves a quarter of a step squared, −96.3 dBFS.

    A shelf of 0.1 dB at 8 kHz, as a first-order high-pass added, is a real difference, however small.
    """
    rng = np.random.default_rng(5)
    dithered = np.round(0.8 * SONG * 2**15 + rng.random(SONG.shape) - rng.random(SONG.shape)) / 2**15
    high = sosfilt(butter(1, 8000, "highpass", fs=RATE_HZ, output="sos"), SONG, axis=0)
    words, shelf, _ = weigh(SONG, dithered, SONG + (10 ** (0.1 / 20) - 1) * high).differences
    assert words.level_only and words.residual.level_dbfs == pytest.approx(20 * np.log10(2.0**-16), abs=0.2)
    assert words.residual.gain_db == pytest.approx(20 * np.log10(0.8), abs=0.001)
    assert not shelf.level_only


@pytest.mark.parametrize("gain_db", [1.0, -3.0])
def test_one_turned_band_shows_in_its_third_octave(gain_db: float) -> None:
    """IEC 61260-1:2014: the third octave at 1 kHz is 891.25 to 1122.0 Hz; the others share the match's gain."""
    turned = turn_band(SONG, 1000 * 10**-0.05, 1000 * 10**0.05, gain_db)
    (found,) = weigh(SONG, turned).differences
    values = {round(band.low_hz, 1): band for band in found.bands}
    other = values[round(1000 * 10**0.25, 1)].difference_db
    band = values[891.3]
    assert band.difference_db is not None and other is not None and band.high_hz == pytest.approx(1122.02, abs=0.01)
    assert band.difference_db - other == pytest.approx(gain_db, abs=0.15)
    # Equally loud: what one band gains, all others lose together.
    assert other * gain_db < 0 and abs(other) < abs(gain_db) / 2


def test_peaks_over_loudness_as_outside_meters_read_them() -> None:
    """Outside meter: libebur128's true peak and loudness of both whole files."""
    clipped = np.clip(4 * SONG, -0.5, 0.5)
    (found,) = weigh(SONG, clipped).differences
    ours = found.peak_to_loudness_db
    outside = [ebur128_dbtp(x, RATE_HZ) - ebur128_lufs(x, RATE_HZ) for x in (SONG, clipped)]
    assert ours == pytest.approx(outside[1] - outside[0], abs=0.3)
    assert ours is not None and ours < -2 and found.hits_db is not None and found.hits_db < -1
    assert found.stretch_peak_db < -1


def test_width_and_noise_floor() -> None:
    """Closed form: sides twice as high are 6.02 dB against the middle; a floor of noise is where it was put."""
    middle, side = SONG.mean(axis=1), (SONG[:, 0] - SONG[:, 1]) / 2
    wide = np.stack([middle + 2 * side, middle - 2 * side], axis=1)
    (found,) = weigh(SONG, wide).differences
    assert found.side_db == pytest.approx(20 * np.log10(2), abs=0.01)
    gap = SONG.copy()
    gap[9 * RATE_HZ : 10 * RATE_HZ] *= 1e-3
    hissing = gap + noise(SONG.shape[0], 1e-3, 4)
    weighing = weigh(gap, hissing)
    (found,) = weighing.differences
    clean, noisy = (np.mean((x[9 * RATE_HZ : 10 * RATE_HZ]) ** 2) for x in (gap, hissing))
    assert found.softest_db is not None and found.softest_db > 5 and noisy > 3 * clean
    assert any("softest moment" in line for line in list_weighing(weighing)["differences"][0]["sentences"])


def test_faults_are_told_of_the_one_that_has_them() -> None:
    """By construction: a click in both at one place of the song, late in one, and another one in that alone."""
    quiet = 0.3 * SONG
    first, second = quiet.copy(), quiet.copy()
    first[3 * RATE_HZ, :] += 0.7
    second[3 * RATE_HZ, :] += 0.7
    second[8 * RATE_HZ, 0] -= 0.7
    (found,) = weigh(first, put_silence_before(second, 24000)).differences
    clicks = [fault for fault in found.faults_b if fault.kind == "click"]
    assert not [fault for fault in found.faults_a if fault.kind == "click"]
    assert len(clicks) == 1 and clicks[0].count == 1 and clicks[0].first_s == pytest.approx(8.5, abs=0.001)


def test_the_proposed_stretches() -> None:
    """By construction: 5 s are turned up by 6 dB; 5 s down by 7; the last 5 s fade to nothing and are no choice."""
    song = cut_song("nine_lanterns_on_the_slipway", 20.0, 30.0) * 0.2
    gain = np.ones(song.shape[0])
    gain[6 * RATE_HZ : 11 * RATE_HZ] = 10 ** (6 / 20)
    gain[14 * RATE_HZ : 19 * RATE_HZ] = 10 ** (-7 / 20)
    gain[25 * RATE_HZ :] = 10 ** (-60 / 20)
    bounces, _ = align_bounces(
        (make_bounce("a", song * gain[:, None]), make_bounce("b", put_silence_before(song * gain[:, None], 48000)))
    )
    found = propose_stretches(bounces, 4.0)
    assert found["loudest"].start_s >= 6 and found["loudest"].end_s <= 11
    assert found["quiet"].start_s >= 13.8 and found["quiet"].end_s <= 19.2


def test_no_stretch_is_proposed_where_one_has_something_else() -> None:
    """By construction: the loudest place is another song in one of the two; it is told, and passed over."""
    song = 0.2 * cut_song("nine_lanterns_on_the_slipway", 20.0, 30.0)
    edited = song.copy()
    edited[12 * RATE_HZ : 16 * RATE_HZ] = cut_song("slack_water_voltage", 20.0, 4.0)
    weighing = weigh(song, edited, wish=StretchWish(None, 4.0))
    assert weighing.stretch.end_s <= 12.5 or weighing.stretch.start_s >= 15.5
    assert any("Something else sounds in it around 0:1" in line for line in word_weighing(list_weighing(weighing)))


def test_those_that_do_not_hold_the_stretch_are_left_out_by_name() -> None:
    """By construction: one bounce ends after 7 s; the others are weighed without it."""
    bounces, _ = align_bounces(
        (make_bounce("a", SONG), make_bounce("short", SONG[: 7 * RATE_HZ]), make_bounce("c", 0.5 * SONG))
    )
    kept, refused = keep_common(bounces, Stretch(5.0, 9.0))
    assert [bounce.name for bounce in kept] == ["a.wav", "c.wav"]
    (line,) = refused
    assert str(line).startswith("short.wav: holds_s=0.00 to 7.00, expected all of 5 to 9 s")
    weighing, refused = weigh_bounces(bounces, StretchWish(5.0, 4.0))
    assert weighing is not None and len(weighing.bounces) == 2 and len(refused) == 1


def test_the_odd_one_out_is_left_out_even_if_it_comes_first() -> None:
    """By construction: another song, then two bounces of one."""
    other = cut_song("slack_water_voltage", 8.0, 8.0)
    bounces, refused = align_bounces((make_bounce("odd", other), make_bounce("a", SONG), make_bounce("b", 0.5 * SONG)))
    assert [bounce.name for bounce in bounces] == ["a.wav", "b.wav"]
    (line,) = refused
    assert str(line).startswith("odd.wav: correlation=0.0") and "0.20 or more" in str(line)


def test_wishes_out_of_bounds_are_refused() -> None:
    """One line each."""
    for start, length in ((-1.0, 8.0), (0.0, 3.0), (0.0, 61.0), (float("nan"), 8.0), (0.0, float("nan"))):
        with pytest.raises(BadValue, match="weigh: --"):
            StretchWish(start, length)
    assert StretchWish(None, 7.26).length_in_grid_s == 7.3


def test_every_sentence_reads_well() -> None:
    """House rule: no raw minus sign, no empty line, a full stop at the end of what differs."""
    weighing = weigh(SONG, put_silence_before(-np.tanh(8 * SONG)[:, ::-1], 100), 0.5 * SONG)
    facts = list_weighing(weighing)
    sentences = [line for part in (*facts["files"], *facts["differences"]) for line in part["sentences"]]
    assert all(line.endswith(".") and "nan" not in line and " -" not in line for line in sentences)
    assert all(line.strip() for line in word_weighing(facts))
    assert any("Upside down" in line for line in sentences) and any("changed places" in line for line in sentences)
