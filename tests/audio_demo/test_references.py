"""A reference is another, finished song of the style and tempo of its mix.

The meter is libebur128 (through pyebur128). What a finished song of such a style measures is common practice, no
source.
"""

from __future__ import annotations

import hashlib

import numpy as np
import pyebur128
import pytest
import soundfile as sf
from scipy import signal as sps
from scipy.ndimage import uniform_filter1d

from tests.audio_demo.song_file import (
    DITHER_PEAK,
    ENTRIES,
    FOLDER,
    SongFile,
    correlation,
    loudness_lufs,
    meter,
    read,
    third_octaves_db,
)

PAIRS = [entry for entry in ENTRIES if "reference" in entry]
# What a reference may state of itself: louder than any open mix here, and not flattened.
FINISHED = {"integrated_lufs": (-15.0, -10.0), "true_peak_dbtp": (-2.0, -1.0), "peak_to_loudness_db": (9.0, 14.0)}
# 13 bits of 16 leave steps, and dither, eight times as large.
COARSER = 8


@pytest.fixture(params=PAIRS, ids=lambda entry: str(entry["reference"]["file"]))
def mix(request: pytest.FixtureRequest) -> SongFile:
    """Give each song that has a reference."""
    return SongFile(request.param, *read(request.param["file"]))


@pytest.fixture
def reference(mix: SongFile) -> SongFile:
    """Give its reference."""
    return SongFile(mix.entry["reference"], *read(mix.entry["reference"]["file"]))


def test_two_songs_have_a_reference() -> None:
    """Of different styles."""
    assert len({entry["style"] for entry in PAIRS}) >= 2


def test_reference_is_listed_as_it_is(mix: SongFile, reference: SongFile) -> None:
    """Name, checksum and format; the style and the tempo of its mix, another title and another key."""
    path = FOLDER / reference.entry["file"]
    assert reference.entry["file"] == mix.entry["file"].replace(".flac", ".reference.flac")
    assert hashlib.sha256(path.read_bytes()).hexdigest() == reference.entry["sha256"]
    info = sf.info(path)
    assert (info.format, info.subtype, info.samplerate, info.channels) == ("FLAC", "PCM_16", 48_000, 2)
    assert 16.0 <= info.duration <= 24.0
    assert info.duration == pytest.approx(reference.entry["length_s"], abs=0.001)
    assert reference.entry["style"] == mix.entry["style"] and reference.bar_s == mix.bar_s
    assert reference.entry["title"] not in {entry["title"] for entry in ENTRIES}
    assert reference.entry["key"] != mix.entry["key"]
    readme = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert reference.entry["title"] in readme and reference.entry["file"] in readme


def test_levels_are_those_of_a_finished_song(mix: SongFile, reference: SongFile) -> None:
    """Loudness, true peak and their distance by libebur128, within its windows and as listed; louder than its mix."""
    state = meter(reference.audio, reference.rate_hz)
    loudness = pyebur128.get_loudness_global(state)
    peak = 20.0 * np.log10(max(pyebur128.get_true_peak(state, channel) for channel in range(2)))
    read_now = {"integrated_lufs": loudness, "true_peak_dbtp": peak, "peak_to_loudness_db": peak - loudness}
    for name, value in read_now.items():
        (low, high), (lowest, highest) = reference.entry["windows"][name], FINISHED[name]
        assert lowest <= low <= value <= high <= highest, name
        assert reference.entry["measured"][name] == pytest.approx(value, abs=0.02)
    assert loudness > mix.entry["measured"]["integrated_lufs"] + 3.0


def test_limiter_left_no_flat_tops(reference: SongFile) -> None:
    """Nowhere three equal samples in a row near the peak."""
    for channel in reference.audio.T:
        near = np.abs(channel) > 0.98 * np.abs(channel).max()
        same = near[1:] & near[:-1] & (channel[1:] == channel[:-1])
        assert not np.any(same[1:] & same[:-1])


def test_stereo_survives_mono_and_there_is_no_dc(reference: SongFile) -> None:
    """Correlation as listed, well below one; under 3 LU lost in mono; no offset above −80 dBFS."""
    whole = correlation(reference.audio)
    assert 0.1 <= whole <= 0.95 and reference.entry["measured"]["correlation"] == pytest.approx(whole, abs=0.002)
    folded = np.repeat(reference.audio.mean(axis=1, keepdims=True), 2, axis=1)
    change_lu = loudness_lufs(folded, reference.rate_hz) - loudness_lufs(reference.audio, reference.rate_hz)
    assert abs(change_lu) < 3.0
    assert np.all(np.abs(reference.audio.astype(np.float64).mean(axis=0)) < 10 ** (-80 / 20))


def test_ends_are_clean_and_nothing_clicks(reference: SongFile) -> None:
    """Only dither before the first beat and at the end; no sample bends far more than those around it."""
    head_s, end_s = reference.entry["first_downbeat_s"] - 0.1, len(reference.audio) / reference.rate_hz
    assert np.abs(reference.between(0.0, head_s)).max() <= COARSER * DITHER_PEAK
    assert np.abs(reference.between(end_s - 0.2, end_s)).max() <= COARSER * DITHER_PEAK
    for channel in reference.audio.T.astype(np.float64):
        bend = np.abs(channel[:-2] - 2.0 * channel[1:-1] + channel[2:])
        assert float(np.max(bend / (uniform_filter1d(bend, 241) + 2e-3))) < 20.0


def test_music_moves_on_the_stated_beats(reference: SongFile) -> None:
    """Folded over a beat, the rises of all bands are larger at the beat than at each other eighth of it.

    A grid that is stated wrongly would not prefer its own beats; halves and quarters are played, and less loudly.
    """
    step, beat_s = 240, reference.beat_s
    _, _, bands = sps.stft(reference.audio.mean(axis=1), reference.rate_hz, nperseg=1024, noverlap=1024 - step)
    rises = np.maximum(np.diff(np.log10(np.abs(bands) + 1e-4), axis=1), 0.0).sum(axis=0)
    times_s = (np.arange(len(rises)) + 0.5) * step / reference.rate_hz - reference.entry["first_downbeat_s"]
    inside = (times_s > -0.04) & (times_s < reference.entry["sections"][0]["end_s"] - 0.2)

    def read_at(share: float) -> float:
        away_s = (times_s[inside] - share * beat_s + 0.5 * beat_s) % beat_s - 0.5 * beat_s
        return float(rises[inside][np.abs(away_s) < 0.02].mean())

    assert read_at(0.0) > read_at(0.5)
    assert all(read_at(0.0) > 1.2 * read_at(eighth / 8) for eighth in (1, 2, 3, 5, 6, 7))


def test_it_is_other_music(mix: SongFile, reference: SongFile) -> None:
    """At no lag do the waveforms resemble each other: a normalised correlation of less than 0.2 (closed form: 1)."""
    whole, other = mix.audio.mean(axis=1), reference.audio.mean(axis=1)
    cross = np.abs(sps.correlate(whole, other, mode="valid", method="fft"))
    energy = np.cumsum(np.concatenate([[0.0], whole.astype(np.float64) ** 2]))
    under = np.sqrt((energy[len(other) :] - energy[: -len(other)]) * float(np.sum(other.astype(np.float64) ** 2)))
    assert float((cross / under).max()) < 0.2


def test_its_balance_is_that_of_the_style(mix: SongFile, reference: SongFile) -> None:
    """At equal loudness no octave of the choruses is more than 4 dB off.

    About the spread of records of one style, where 2 dB and more are ordinary (common practice, no source).
    """
    centres_hz = [round(1000 * 10 ** (n / 10)) for n in range(-12, 13)]
    levels = []
    for song in (mix, reference):
        chorus = song.sections("chorus")
        thirds = third_octaves_db(chorus, song.rate_hz, centres_hz)
        power = np.convolve([10 ** (thirds[hz] / 10) for hz in centres_hz], np.ones(3), "valid")
        levels.append(10 * np.log10(power) - loudness_lufs(chorus, song.rate_hz))
    assert np.abs(levels[0] - levels[1]).max() < 4.0
