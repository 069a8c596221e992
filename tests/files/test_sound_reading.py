"""Sound files in: each kind that a musician has, and each that cannot be used, with one clear line."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from trainer.errors import BadValue
from trainer.files.sound_reading import describe_own_song, hash_file, read_song

KINDS = [("WAV", "PCM_16"), ("WAV", "PCM_24"), ("WAV", "FLOAT"), ("FLAC", "PCM_24"), ("AIFF", "PCM_16"),
         ("OGG", "VORBIS"), ("MP3", "MPEG_LAYER_III")]  # fmt: skip


def write(path: Path, seconds: float = 5.0, rate_hz: int = 48000, channels: int = 2, **how: str) -> Path:
    """Write a file with a 440 Hz tone."""
    time = np.arange(int(seconds * rate_hz)) / rate_hz
    tone = np.repeat((0.25 * np.sin(2 * np.pi * 440 * time))[:, None], channels, axis=1)
    soundfile.write(path, tone, rate_hz, **how)
    return path


@pytest.mark.parametrize(("kind", "subtype"), KINDS)
def test_each_usual_format_is_read(tmp_path: Path, kind: str, subtype: str) -> None:
    """The tone comes back at its level: RMS of a sine is its peak over the square root of 2."""
    song = read_song(describe_own_song(str(write(tmp_path / "mix", format=kind, subtype=subtype))))
    middle = song.clip.samples[48000:-48000]
    assert song.clip.rate_hz == 48000
    assert float(np.sqrt(np.mean(middle**2))) == pytest.approx(0.25 / np.sqrt(2), rel=0.02)
    assert song.entry.audio_class == "own" and song.entry.title == "mix"


@pytest.mark.parametrize("rate_hz", [8000, 11025, 22050, 32000, 44100, 88200, 96000, 176400, 192000])
def test_each_rate_becomes_a_working_rate(tmp_path: Path, rate_hz: int) -> None:
    """A tone keeps its frequency and level (the middle, away from the ends)."""
    song = read_song(describe_own_song(str(write(tmp_path / "mix.wav", rate_hz=rate_hz))))
    assert song.clip.rate_hz in (44100, 48000) and song.file_rate_hz == rate_hz
    assert song.clip.duration_s == pytest.approx(5.0, abs=1e-3)
    middle = song.clip.samples[song.clip.rate_hz : 3 * song.clip.rate_hz, 0].astype(float)
    line = np.abs(np.fft.rfft(middle)) / middle.size * 2
    assert int(line.argmax()) == 880  # 440 Hz over two seconds
    assert line[880] == pytest.approx(0.25, rel=1e-3)


def test_mono_is_put_on_both_sides(tmp_path: Path) -> None:
    """One channel becomes two alike."""
    samples = read_song(describe_own_song(str(write(tmp_path / "mono.wav", channels=1)))).clip.samples
    assert samples.shape[1] == 2 and np.array_equal(samples[:, 0], samples[:, 1])


def test_the_file_is_not_touched(tmp_path: Path) -> None:
    """The same bytes before and after."""
    path = write(tmp_path / "mix.wav")
    before = hash_file(path)
    assert read_song(describe_own_song(str(path))).sha256 == before == hash_file(path)


def make_bad_file(kind: str, path: Path) -> Path:
    """Make a file that cannot be used."""
    if kind == "text":
        path.write_text("not sound at all")
    elif kind == "empty":
        path.write_bytes(b"")
    elif kind == "folder":
        path.mkdir()
    elif kind == "short":
        write(path, seconds=3.9)
    elif kind == "silent":
        soundfile.write(path, np.zeros((48000 * 5, 2)), 48000)
    elif kind == "six channels":
        write(path, channels=6)
    elif kind == "nan":
        samples = np.full((48000 * 5, 2), 0.1, dtype=np.float32)
        samples[60000, 1] = np.nan
        soundfile.write(path, samples, 48000, subtype="FLOAT")
    elif kind == "too slow":
        write(path, rate_hz=4000)
    elif kind == "header only":
        path.write_bytes(write(path).read_bytes()[:44])
    elif kind == "no channels":
        path.write_bytes(
            b"RIFF" + struct.pack("<I", 36) + b"WAVEfmt "
            + struct.pack("<IHHIIHH", 16, 1, 0, 48000, 0, 0, 16) + b"data" + struct.pack("<I", 0)
        )  # fmt: skip
    return path


BAD = {
    "text": r"audio: file=.*expected a readable WAV, FLAC, AIFF, OGG or MP3 file",
    "empty": r"audio: file=.*expected a readable",
    "folder": r"audio: file=.*expected a sound file, not a folder",
    "missing": r"audio: file=.*expected a file that exists",
    "short": r"mix\.wav: duration_s=3\.90, expected at least 4 s of sound",
    "silent": r"mix\.wav: peak_dbfs=.*expected sound above −70 dBFS",
    "six channels": r"mix\.wav: channels=6, expected 1 or 2; make a stereo bounce first",
    "nan": r"mix\.wav: samples=not a number at 1\.250 s, expected finite values throughout",
    "too slow": r"mix\.wav: sample_rate_hz=4000, expected 8000 to 192000",
    "header only": r"mix\.wav: duration_s=0\.00|audio: file=",
    "no channels": r"mix\.wav: channels=0|audio: file=",
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_file_is_one_clear_line(tmp_path: Path, kind: str) -> None:
    """Where, which value, what was expected; and no more than one line."""
    path = make_bad_file(kind, tmp_path / "mix.wav")
    with pytest.raises(BadValue, match=BAD[kind]) as caught:
        read_song(describe_own_song(str(path)))
    assert "\n" not in str(caught.value)
