"""The demo songs are what their list says: levels, dynamics, stereo, and no fault anywhere.

The meter is libebur128 (through pyebur128), which implements ITU-R BS.1770 and EBU R 128 and has no
code in common with the trainer. Every song states its own windows; what they may be is common practice,
no source, unless a test says otherwise.
"""

from __future__ import annotations

import numpy as np
import pyebur128
import pytest
from scipy.ndimage import uniform_filter1d

from tests.audio_demo.song_file import DITHER_PEAK, SongFile, correlation, level_db, loudness_lufs, meter, steps_db


def within(song: SongFile, name: str, value: float) -> None:
    """Check a value against the song's own window and against the list."""
    low, high = song.entry["windows"][name]
    assert low <= value <= high, f"{name}={value}"
    assert song.entry["measured"][name] == pytest.approx(value, abs=0.1 if name == "loudness_range_lu" else 0.02)


def test_windows_are_those_of_one_state(song: SongFile) -> None:
    """An open mix, a dense one or a hot one: a song cannot state windows that let everything pass."""
    assert len(song.states) == 1


def test_levels_are_those_of_the_state(song: SongFile) -> None:
    """Loudness, true peak, their distance and the loudness range by libebur128."""
    state = meter(song.audio, song.rate_hz)
    integrated_lufs = pyebur128.get_loudness_global(state)
    true_peak_dbtp = 20.0 * np.log10(max(pyebur128.get_true_peak(state, channel) for channel in range(2)))
    within(song, "integrated_lufs", integrated_lufs)
    within(song, "true_peak_dbtp", true_peak_dbtp)
    within(song, "peak_to_loudness_db", true_peak_dbtp - integrated_lufs)
    within(song, "loudness_range_lu", pyebur128.get_loudness_range(state))


def test_open_mixes_leave_headroom(song: SongFile) -> None:
    """Sample peaks of an open mix lie between −6 and −3 dBFS."""
    if song.states != ["open"]:
        pytest.skip("not an open mix")
    assert -6.0 <= 20.0 * np.log10(np.abs(song.audio).max()) <= -3.0


def test_chorus_is_louder_than_verse(song: SongFile) -> None:
    """By as much as the song states and lists; 2 LU at least if it is an open mix."""
    chorus, verse = song.sections("chorus"), song.sections("verse")
    difference_lu = loudness_lufs(chorus, song.rate_hz) - loudness_lufs(verse, song.rate_hz)
    within(song, "chorus_over_verse_lu", difference_lu)
    assert difference_lu >= (2.0 if song.states == ["open"] else 0.0)


def test_stereo_is_real_and_survives_mono(song: SongFile) -> None:
    """Correlation well below one, no section out of phase, and under 3 LU lost when folded to mono."""
    whole = correlation(song.audio)
    assert 0.1 <= whole <= 0.95
    assert song.entry["measured"]["correlation"] == pytest.approx(whole, abs=0.002)
    for section in song.entry["sections"]:
        part = song.between(section["start_s"], section["end_s"])
        assert correlation(part) > 0.1, section["name"]
    folded = np.repeat(song.audio.mean(axis=1, keepdims=True), 2, axis=1)
    change_lu = loudness_lufs(folded, song.rate_hz) - loudness_lufs(song.audio, song.rate_hz)
    assert abs(change_lu) < 3.0
    assert song.entry["measured"]["mono_change_lu"] == pytest.approx(change_lu, abs=0.02)


def count_flat(channel: np.ndarray) -> int:
    """Count samples that equal both samples before them near the peak."""
    near = np.abs(channel) > 0.98 * np.abs(channel).max()
    same = near[1:] & near[:-1] & (channel[1:] == channel[:-1])
    return int((same[1:] & same[:-1]).sum())


def test_only_the_hot_mix_has_flat_tops(song: SongFile) -> None:
    """Three equal samples in a row near the peak: nowhere, but all over a mix with its limiter driven too hot."""
    flat = sum(count_flat(channel) for channel in song.audio.T)
    if song.states == ["hot"]:
        assert flat > 50
    else:
        assert flat == 0


def test_there_is_no_dc(song: SongFile) -> None:
    """No offset above −80 dBFS."""
    assert np.all(np.abs(song.audio.astype(np.float64).mean(axis=0)) < 10 ** (-80 / 20))


def test_head_is_clean_and_tail_dies_away(song: SongFile) -> None:
    """Only dither at both ends; at the end no step of 50 ms falls by more than 15 dB above −80 dBFS."""
    head_s = song.entry["first_downbeat_s"] - 0.05
    assert 0.05 <= head_s <= 0.3
    assert np.abs(song.between(0.0, head_s)).max() <= DITHER_PEAK
    end_s = len(song.audio) / song.rate_hz
    assert np.abs(song.between(end_s - 0.2, end_s)).max() <= DITHER_PEAK
    levels = steps_db(song.between(song.entry["sections"][-1]["end_s"] - 1.0, end_s - 0.05), song.rate_hz, 0.05)
    assert np.all((levels[:-1] - levels[1:] < 15.0) | (levels[1:] < -80.0))


def test_a_long_tail_is_long(song: SongFile) -> None:
    """Six seconds after the last bar still sound above the dither, each second softer than the one before."""
    if not song.has("long tail"):
        pytest.skip("not said of this song")
    last_s = song.entry["sections"][-1]["end_s"]
    levels = steps_db(song.between(last_s, last_s + 6.0), song.rate_hz, 1.0)
    assert np.all(np.diff(levels) < 0.0)
    assert levels[0] > -60.0 and levels[-1] > -92.0


def test_a_sparse_start_leaves_the_voice_alone_with_guitars(song: SongFile) -> None:
    """Eight seconds and more of the first verse with no bass below 70 Hz and gaps above 12 kHz."""
    if not song.has("sparse start"):
        pytest.skip("not said of this song")
    verse = next(s for s in song.entry["sections"] if s["name"] == "verse 1")
    assert verse["end_s"] - verse["start_s"] >= 8.0
    part = song.between(verse["start_s"], verse["end_s"])
    bins = np.fft.rfftfreq(len(part), 1.0 / song.rate_hz)
    power = (np.abs(np.fft.rfft(part.astype(np.float64), axis=0)) ** 2).sum(axis=1)
    assert 10.0 * np.log10(power[bins < 70.0].sum() / power.sum()) < -25.0
    top = np.fft.irfft(np.fft.rfft(part, axis=0) * (bins > 12_000.0)[:, None], len(part), axis=0)
    low, high = np.percentile(steps_db(top.astype(np.float32), song.rate_hz, 0.02), (10, 95))
    assert high - low > 20.0


def test_no_single_sample_jumps(song: SongFile) -> None:
    """A click of one sample stands far above its neighbours' curvature; the music nowhere does."""
    for channel in song.audio.T.astype(np.float64):
        bend = np.abs(channel[:-2] - 2.0 * channel[1:-1] + channel[2:])
        around = uniform_filter1d(bend, 241)
        assert float(np.max(bend / (around + 2e-3))) < 20.0


def test_ends_are_quieter_than_the_music(song: SongFile) -> None:
    """The last second before the tail is at least 3 dB under the choruses: every song has an ending."""
    last_s = song.entry["sections"][-1]["end_s"]
    assert level_db(song.between(last_s - 1.0, last_s)) < level_db(song.sections("chorus")) - 3.0
