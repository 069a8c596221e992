"""Recordings of one song are brought into step whatever was done to them; others are told from them."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from scipy.signal import butter, correlate, resample, sosfilt

from tests.measure.recordings import (
    RATE_HZ,
    SONGS,
    Samples,
    code_with_ffmpeg,
    cut_song,
    delay,
    put_silence_before,
    read_song,
)
from trainer.measure.alignment import SAME_SONG, Alignment, Recording, align_songs

SONG = "quarter_past_the_breakwater"
# Of two stretches of one song, only what is repeated nearly sample by sample may come near the limit.
MOST_FOR_STRANGERS = 0.05
MOST_FOR_SECTIONS = 0.15


def align(first: npt.NDArray[np.floating], other: npt.NDArray[np.floating]) -> Alignment:
    """Align two arrays at 48 kHz."""
    one, two = (np.ascontiguousarray(samples, dtype=np.float32) for samples in (first, other))
    return align_songs(Recording(one, RATE_HZ), Recording(two, RATE_HZ))


@pytest.fixture(scope="module")
def song() -> Samples:
    """Give 14 s with a change of section in them."""
    return cut_song(SONG, 18.0, 14.0)


def test_known_offsets_of_whole_frames(song: Samples) -> None:
    """By construction: silence before, a beginning cut off, or a short stretch of a whole."""
    for frames in (1, 480, 10 * RATE_HZ):
        found = align(song, put_silence_before(song, frames))
        assert found.offset_frames == pytest.approx(frames, abs=0.01) and found.correlation > 0.9
        assert (found.polarity, found.swapped, found.turned_side, found.drift_ppm) == (1, False, "", 0.0)
    assert align(song, song[3 * RATE_HZ + 7 :]).offset_frames == pytest.approx(-3 * RATE_HZ - 7, abs=0.01)
    assert align(song[8 * RATE_HZ : 13 * RATE_HZ], song).offset_frames == pytest.approx(8 * RATE_HZ, abs=0.01)


@pytest.mark.parametrize("frames", [0.3, -7.5])
def test_offsets_between_the_frames(song: Samples, frames: float) -> None:
    """Closed form: a delay turns each line's phase in proportion to its frequency."""
    assert align(song, delay(song, frames)).offset_frames == pytest.approx(frames, abs=0.01)


def test_polarity_and_sides(song: Samples) -> None:
    """By construction: every way in which two cables can be crossed or turned."""
    late = put_silence_before(song, 1000)
    assert align(song, -late).polarity == -1
    turned = align(song, -late[:, ::-1])
    assert turned.polarity == -1 and turned.swapped and not turned.turned_side
    for signs, side in (((-1, 1), "left"), ((1, -1), "right")):
        found = align(song, late * np.array(signs))
        assert (found.turned_side, found.swapped) == (side, False)
        assert found.offset_frames == pytest.approx(1000, abs=0.01)
    # The left, turned before the sides were crossed, is the left again when they are put right.
    crossed = align(song, (late * np.array([-1, 1]))[:, ::-1])
    assert (crossed.turned_side, crossed.swapped) == ("left", True)


def test_what_is_alike_on_both_sides_is_not_called_swapped(song: Samples) -> None:
    """By definition: mono has no sides to change places; and a mono bounce of a stereo song keeps its place."""
    mono = np.repeat(song.mean(axis=1, keepdims=True), 2, axis=1)
    for found in (align(mono, mono[:, ::-1]), align(song, mono)):
        assert found.offset_frames == pytest.approx(0, abs=0.01) and not found.swapped and found.polarity == 1


@pytest.mark.parametrize("ppm", [3.0, -100.0])
def test_clocks_that_differ(ppm: float) -> None:
    """Closed form: scipy's resampling through the spectrum to a length that is longer by so many millionths."""
    song = cut_song(SONG, 8.0, 32.0)
    frames = round(song.shape[0] * (1 + 1e-6 * ppm))
    longer = resample(song.astype(np.float64), frames, axis=0)
    found = align(song, longer)
    assert found.drift_ppm == pytest.approx(1e6 * (frames / song.shape[0] - 1), abs=0.5) and found.same_song
    end = found.offset_at(song.shape[0])
    assert end == pytest.approx(frames - song.shape[0], abs=0.5) and abs(found.offset_frames) < 0.5


def _shelve(samples: Samples) -> Samples:
    """Turn what is below 200 Hz up by 6 dB: the sound and a first-order low-pass of it."""
    low = sosfilt(butter(1, 200, fs=RATE_HZ, output="sos"), samples, axis=0)
    return (samples + low).astype(np.float32)


def _brighten_without_delay(samples: Samples) -> Samples:
    """Turn the top up by 12 dB in the spectrum of the whole, as an equaliser of linear phase does."""
    hertz = np.fft.rfftfreq(samples.shape[0], 1 / RATE_HZ)
    gain = 10 ** (12 / 20 * hertz**2 / (hertz**2 + 8000.0**2))
    return np.fft.irfft(np.fft.rfft(samples, axis=0) * gain[:, None], samples.shape[0], axis=0).astype(np.float32)


def _press(samples: Samples) -> Samples:
    """Divide by a fast envelope: a hard compressor."""
    power = sosfilt(butter(1, 20, fs=RATE_HZ, output="sos"), (samples**2).mean(axis=1))
    return (samples / np.sqrt(np.maximum(power, 0) + 1e-4)[:, None] * 0.1).astype(np.float32)


@pytest.mark.parametrize(
    "change",
    [
        lambda x: np.tanh(6 * x) / 2,
        lambda x: np.clip(x, -0.08, 0.08),
        _shelve,
        _press,
        lambda x: x + np.random.default_rng(1).standard_normal(x.shape) * np.sqrt(np.mean(x**2)) / 3,
        lambda x: sosfilt(butter(2, 6000, fs=RATE_HZ, output="sos"), x, axis=0),
        lambda x: x + 3 * sosfilt(butter(1, 8000, "highpass", fs=RATE_HZ, output="sos"), x, axis=0),
        _brighten_without_delay,
    ],
    ids=["saturated", "clipped", "shelf", "compressed", "noise", "dull", "bright", "bright without delay"],
)
def test_whatever_was_done_to_it(song: Samples, change: Callable[[Samples], Samples]) -> None:
    """By construction: the offset is that of the silence put before, to half a frame.

    Filters with the least phase that goes with their curve, and one without any, move nothing else.
    """
    found = align(song, put_silence_before(change(song), 2345))
    assert found.offset_frames == pytest.approx(2345, abs=0.5)
    assert found.same_song and found.polarity == 1 and not found.swapped


@pytest.mark.parametrize(
    ("suffix", "options"),
    [("mp3", ("-b:a", "64k")), ("opus", ("-b:a", "64k")), ("m4a", ("-b:a", "96k"))],
)
def test_lossy_coding_and_its_delay(song: Samples, tmp_path: Path, suffix: str, options: tuple[str, ...]) -> None:
    """Outside reference: ffmpeg's codecs, and where scipy's plain cross-correlation has its top, to half a frame."""
    coded = code_with_ffmpeg(song, tmp_path, suffix, *options)
    frames = min(song.shape[0], coded.shape[0])
    fit = correlate(coded[:frames, 0].astype(np.float64), song[:frames, 0].astype(np.float64), method="fft")
    found = align(song, coded)
    assert found.offset_frames == pytest.approx(int(fit.argmax()) - frames + 1, abs=0.5)
    assert found.same_song and found.polarity == 1 and not found.swapped


def test_an_edit_is_found_where_it_is() -> None:
    """By construction: 4 s of another song in the middle of 30; the rest is in step, and the figure high."""
    song = cut_song(SONG, 16.0, 30.0)
    edited = song.copy()
    edited[12 * RATE_HZ : 16 * RATE_HZ] = cut_song(SONGS[0], 20.0, 4.0)
    found = align(song, put_silence_before(edited, 100))
    assert found.offset_frames == pytest.approx(100, abs=0.01) and found.correlation > 0.9
    assert found.odd_frames and all(12 <= frame / RATE_HZ <= 16 for frame in found.odd_frames)
    assert align(song, np.tanh(6 * song)).odd_frames == ()


def test_different_songs_are_told_apart() -> None:
    """By definition, on neighbours in the list of demo songs: the figure stays far from the limit."""
    assert MOST_FOR_STRANGERS < SAME_SONG / 3
    for one, other in pairwise(SONGS[:3]):
        assert align(cut_song(one, 8, 12), cut_song(other, 8, 12)).correlation < MOST_FOR_STRANGERS


def test_different_sections_of_a_song_are_told_apart() -> None:
    """By definition: the halves of songs, whose choruses share instruments, players, key and beat."""
    assert MOST_FOR_SECTIONS < SAME_SONG
    for name in SONGS[1:3]:
        half = read_song(name).shape[0] // 2
        found = align(read_song(name)[:half], read_song(name)[half:])
        assert found.correlation < MOST_FOR_SECTIONS and not found.same_song, name


def test_nothing_in_common_is_an_answer(song: Samples) -> None:
    """Silence, and less than four seconds: a correlation of 0, no error."""
    assert align(song, np.zeros_like(song)).correlation == 0
    assert not align(song, song[: 2 * RATE_HZ]).same_song
    assert align(song, song[5 * RATE_HZ : 9 * RATE_HZ]).same_song
