"""The demo songs are what their list says: bars, levels, licence, and no fault anywhere.

The meter is libebur128 (through pyebur128), which implements ITU-R BS.1770 and EBU R 128 and has no
code in common with the trainer. The windows are those of an ordinary unmastered mix: common practice,
no source, unless a test says otherwise.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pyebur128
import pytest
import soundfile as sf
import yaml
from numpy.typing import NDArray
from scipy import signal as sps
from scipy.ndimage import uniform_filter1d

FOLDER = Path(__file__).parents[2] / "audio_demo"
LISTING = FOLDER / "songs.yaml"
ENTRIES: list[dict[str, Any]] = yaml.safe_load(LISTING.read_text(encoding="utf-8"))["songs"]
# Four steps of 16 bits: dither of two steps peak to peak, and half a step of rounding.
DITHER_PEAK = 4.0 / 32768.0

Audio = NDArray[np.float32]


@dataclass(frozen=True)
class Song:
    """A song as listed and as read."""

    entry: dict[str, Any]
    audio: Audio
    rate_hz: int

    @property
    def bar_s(self) -> float:
        """Length of a bar in seconds."""
        return float(self.entry["beats_per_bar"] * 60.0 / self.entry["tempo_bpm"])

    def between(self, start_s: float, end_s: float) -> Audio:
        """The frames between two times."""
        return self.audio[round(start_s * self.rate_hz) : round(end_s * self.rate_hz)]

    def sections(self, kind: str) -> Audio:
        """All sections of a kind, joined."""
        found = [s for s in self.entry["sections"] if s["name"].startswith(kind)]
        return np.concatenate([self.between(s["start_s"], s["end_s"]) for s in found])

    def backbeats_s(self) -> list[float]:
        """Beats two and four of every bar of the choruses."""
        out = []
        for section in self.entry["sections"]:
            if section["name"].startswith("chorus"):
                for bar in range(round((section["end_s"] - section["start_s"]) / self.bar_s)):
                    out += [section["start_s"] + (bar + part) * self.bar_s for part in (0.25, 0.75)]
        return out


@pytest.fixture(scope="module", params=ENTRIES, ids=lambda entry: str(entry["file"]))
def song(request: pytest.FixtureRequest) -> Song:
    """Read each listed song once."""
    audio, rate_hz = sf.read(FOLDER / request.param["file"], dtype="float32", always_2d=True)
    return Song(request.param, audio, rate_hz)


def meter(audio: Audio, rate_hz: int) -> pyebur128.R128State:
    """Feed audio to libebur128."""
    modes = (
        pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_LRA | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    )
    state = pyebur128.R128State(audio.shape[1], rate_hz, modes)
    state.add_frames(np.ascontiguousarray(audio).ravel(), len(audio))
    return state


def loudness_lufs(audio: Audio, rate_hz: int) -> float:
    """Integrated loudness by libebur128."""
    state = pyebur128.R128State(audio.shape[1], rate_hz, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(audio).ravel(), len(audio))
    return float(pyebur128.get_loudness_global(state))


def level_db(audio: Audio) -> float:
    """RMS level in dBFS."""
    return float(10.0 * np.log10(np.mean(audio.astype(np.float64) ** 2) + 1e-20))


def correlation(audio: Audio) -> float:
    """Correlation of the two channels, −1 to 1."""
    left, right = audio.astype(np.float64).T
    return float(np.dot(left, right) / np.sqrt(np.dot(left, left) * np.dot(right, right)))


def third_octaves_db(audio: Audio, rate_hz: int, centres_hz: Sequence[int]) -> dict[int, float]:
    """Levels of third-octave bands, both channels together, from an averaged periodogram."""
    freq_hz, power = sps.welch(audio, rate_hz, nperseg=16384, axis=0)
    out = {}
    for centre_hz in centres_hz:
        inside = (freq_hz > centre_hz * 2 ** (-1 / 6)) & (freq_hz < centre_hz * 2 ** (1 / 6))
        out[centre_hz] = float(10.0 * np.log10(power[inside].sum() * (freq_hz[1] - freq_hz[0])))
    return out


def test_every_file_is_listed_and_every_listed_file_is_there() -> None:
    """The list and the folder agree."""
    assert sorted(entry["file"] for entry in ENTRIES) == sorted(path.name for path in FOLDER.glob("*.flac"))


def test_file_is_the_one_that_was_measured(song: Song) -> None:
    """The checksum holds, and the format is 48 kHz, stereo, 16 bits, of a size fit for a repository."""
    path = FOLDER / song.entry["file"]
    assert hashlib.sha256(path.read_bytes()).hexdigest() == song.entry["sha256"]
    info = sf.info(path)
    assert (info.format, info.subtype, info.samplerate, info.channels) == ("FLAC", "PCM_16", 48_000, 2)
    assert path.stat().st_size < 10_500_000
    assert 60.0 <= info.duration <= 80.0
    assert info.duration == pytest.approx(song.entry["length_s"], abs=0.001)


def test_song_is_free_to_use_and_says_whence_it_comes(song: Song) -> None:
    """Licence, sources and tools are stated, and the sound font's notice is kept beside the song."""
    assert song.entry["licence"] == "CC0-1.0"
    assert song.entry["sources"] and song.entry["made_with"]
    readme = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert "Copyright © 2000-2002, 2008 Frank Wen" in readme
    assert song.entry["title"] in readme


def test_levels_are_those_of_a_mix_before_mastering(song: Song) -> None:
    """Loudness, headroom and peak-to-loudness by libebur128; a master would fail three of the four."""
    state = meter(song.audio, song.rate_hz)
    integrated_lufs = pyebur128.get_loudness_global(state)
    peak = max(pyebur128.get_true_peak(state, channel) for channel in range(2))
    true_peak_dbtp = 20.0 * np.log10(peak)
    assert -20.0 <= integrated_lufs <= -15.0
    assert true_peak_dbtp <= -3.0
    assert -6.0 <= 20.0 * np.log10(np.abs(song.audio).max()) <= -3.0
    assert true_peak_dbtp - integrated_lufs >= 12.0
    measured = song.entry["measured"]
    assert measured["integrated_lufs"] == pytest.approx(integrated_lufs, abs=0.02)
    assert measured["true_peak_dbtp"] == pytest.approx(true_peak_dbtp, abs=0.02)
    assert measured["loudness_range_lu"] == pytest.approx(pyebur128.get_loudness_range(state), abs=0.1)


def test_chorus_is_louder_than_verse(song: Song) -> None:
    """At least 2 LU, and as listed."""
    difference_lu = loudness_lufs(song.sections("chorus"), song.rate_hz) - loudness_lufs(
        song.sections("verse"), song.rate_hz
    )
    assert difference_lu >= 2.0
    assert song.entry["measured"]["chorus_over_verse_lu"] == pytest.approx(difference_lu, abs=0.02)


def test_stereo_is_real_and_survives_mono(song: Song) -> None:
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


def test_nothing_clips_and_there_is_no_dc(song: Song) -> None:
    """No three equal samples in a row near the peak, no offset above −80 dBFS."""
    for channel in song.audio.T:
        top = np.abs(channel).max()
        near = np.abs(channel) > 0.98 * top
        same = near[1:] & near[:-1] & (channel[1:] == channel[:-1])
        flat = same[1:] & same[:-1]
        assert int(flat.sum()) == 0
        assert abs(float(channel.astype(np.float64).mean())) < 10 ** (-80 / 20)


def test_head_is_clean_and_tail_dies_away(song: Song) -> None:
    """Only dither at both ends; at the end no step of 50 ms falls by more than 15 dB above −80 dBFS."""
    head_s = song.entry["first_downbeat_s"] - 0.05
    assert 0.05 <= head_s <= 0.3
    assert np.abs(song.between(0.0, head_s)).max() <= DITHER_PEAK
    end_s = len(song.audio) / song.rate_hz
    assert np.abs(song.between(end_s - 0.2, end_s)).max() <= DITHER_PEAK
    last_s = song.entry["sections"][-1]["end_s"]
    steps = np.arange(last_s - 1.0, end_s - 0.05, 0.05)
    levels = np.array([level_db(song.between(start, start + 0.05)) for start in steps])
    falls = levels[:-1] - levels[1:]
    assert np.all((falls < 15.0) | (levels[1:] < -80.0))


def test_no_single_sample_jumps(song: Song) -> None:
    """A click of one sample stands far above its neighbours' curvature; the music nowhere does."""
    for channel in song.audio.T.astype(np.float64):
        bend = np.abs(channel[:-2] - 2.0 * channel[1:-1] + channel[2:])
        around = uniform_filter1d(bend, 241)
        assert float(np.max(bend / (around + 2e-3))) < 20.0


def test_sections_are_whole_bars_in_order(song: Song) -> None:
    """Sections follow one another on bar lines; closed form: first downbeat + n bars."""
    sections = song.entry["sections"]
    names = [section["name"] for section in sections]
    assert names[0] == "intro" and names[-1] == "ending"
    assert sum(name.startswith("verse") for name in names) >= 1
    assert sum(name.startswith("chorus") for name in names) >= 2
    assert sections[0]["start_s"] == pytest.approx(song.entry["first_downbeat_s"])
    for one, two in pairwise(sections):
        assert one["end_s"] == pytest.approx(two["start_s"])
    for section in sections:
        bars = (section["start_s"] - song.entry["first_downbeat_s"]) / song.bar_s
        assert bars == pytest.approx(round(bars), abs=1e-3)
    assert sections[-1]["end_s"] < len(song.audio) / song.rate_hz


def test_drums_fall_on_the_stated_beats(song: Song) -> None:
    """The strongest rise above 1.5 kHz near a backbeat lies within 12 ms of it, nine times in ten.

    Not always: now and then a consonant or a strummed chord beside the beat rises more than the snare.
    """
    sections = sps.butter(4, 1500.0, "highpass", fs=song.rate_hz, output="sos")
    errors_s = []
    for beat_s in song.backbeats_s():
        part = song.between(beat_s - 0.1, beat_s + 0.1).mean(axis=1).astype(np.float64)
        step = round(0.002 * song.rate_hz)
        energy = (sps.sosfilt(sections, part) ** 2)[: len(part) // step * step].reshape(-1, step).sum(axis=1)
        rise_s = (np.argmax(np.diff(np.sqrt(energy))) + 1) * 0.002 - 0.1
        errors_s.append(abs(rise_s))
    assert float(np.percentile(errors_s, 90.0)) <= 0.012


def test_backbeats_stand_over_the_bed(song: Song) -> None:
    """Most backbeats of the choruses would be cut by a limiter that takes 6 dB off the highest peak."""
    peaks_db = [
        20.0 * np.log10(np.abs(song.between(beat_s - 0.01, beat_s + 0.06)).max()) for beat_s in song.backbeats_s()
    ]
    assert float(np.median(peaks_db)) - level_db(song.sections("chorus")) > 9.0
    ceiling_db = 20.0 * np.log10(np.abs(song.audio).max()) - 6.0
    assert np.mean(np.array(peaks_db) > ceiling_db + 1.0) > 0.7


def test_spectrum_is_full(song: Song) -> None:
    """No octave is missing in the choruses, and the top octave holds music.

    The long-term balance of popular music falls towards the top and has no hole (from memory:
    P. D. Pestana et al., AES convention 135, 2013); the limits here are wide.
    """
    octaves, top = (63, 125, 250, 500, 1000, 2000, 4000, 8000), (10_000, 12_500, 16_000)
    level = third_octaves_db(song.sections("chorus"), song.rate_hz, octaves + top)
    for hz in octaves:
        assert -20.0 < level[hz] - level[1000] < 16.0, hz
    assert level[63] - level[8000] > 10.0
    for hz in top:
        assert -35.0 < level[hz] - level[1000] < -8.0, hz


def test_top_is_music_and_not_hiss(song: Song) -> None:
    """Above 10 kHz the level of 20 ms pieces of the choruses moves by more than 10 dB."""
    sections = sps.butter(8, 10_000.0, "highpass", fs=song.rate_hz, output="sos")
    top = sps.sosfilt(sections, song.sections("chorus").astype(np.float64), axis=0)
    step = round(0.02 * song.rate_hz)
    pieces = (top[: len(top) // step * step] ** 2).reshape(-1, 2 * step).mean(axis=1)
    low, high = np.percentile(10.0 * np.log10(pieces), (10, 95))
    assert high - low > 10.0
