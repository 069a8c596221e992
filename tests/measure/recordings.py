"""Stretches of the demo songs, and what is done to bounces of them, by means that are not the program's."""

from __future__ import annotations

import shutil
import subprocess
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import soundfile

RATE_HZ = 48000
FOLDER = Path(__file__).parents[2] / "audio_demo"
SONGS = (
    "chairs_up_at_the_net_loft", "nine_lanterns_on_the_slipway", "quarter_past_the_breakwater",
    "slack_water_voltage", "three_crates_and_a_tide_table",
)  # fmt: skip
Samples = npt.NDArray[np.float32]


@lru_cache(maxsize=8)
def read_song(name: str) -> Samples:
    """Read a whole demo song, shape (frames, 2), 48 kHz."""
    samples, rate_hz = soundfile.read(FOLDER / f"{name}.flac", dtype="float32", always_2d=True)
    assert rate_hz == RATE_HZ
    samples.setflags(write=False)
    return np.asarray(samples)


def cut_song(name: str, start_s: float, length_s: float) -> Samples:
    """Cut a stretch of a demo song."""
    first = round(start_s * RATE_HZ)
    return read_song(name)[first : first + round(length_s * RATE_HZ)]


def delay(samples: npt.NDArray[np.floating], frames: float) -> Samples:
    """Delay round and round by any part of a frame: each line's phase turned in proportion to its frequency."""
    turns = np.exp(-2j * np.pi * np.fft.rfftfreq(samples.shape[0]) * frames)
    moved = np.fft.irfft(np.fft.rfft(samples, axis=0) * turns[:, None], samples.shape[0], axis=0)
    return moved.astype(np.float32)


def put_silence_before(samples: npt.NDArray[np.floating], frames: int) -> Samples:
    """Put silence before a sound."""
    return np.concatenate([np.zeros((frames, 2)), samples]).astype(np.float32)


def code_with_ffmpeg(samples: Samples, folder: Path, suffix: str, *options: str) -> Samples:
    """Code with ffmpeg's encoder and decode again, as it is, with whatever delay that has."""
    program = shutil.which("ffmpeg")
    if program is None:
        pytest.skip("ffmpeg is not installed")
    wav, coded, back = folder / "in.wav", folder / f"coded.{suffix}", folder / "back.wav"
    soundfile.write(wav, samples, RATE_HZ, subtype="PCM_24")
    for command in (
        [program, "-v", "error", "-y", "-i", str(wav), *options, str(coded)],
        [program, "-v", "error", "-y", "-i", str(coded), "-ar", str(RATE_HZ), "-c:a", "pcm_f32le", str(back)],
    ):
        if subprocess.run(command, capture_output=True).returncode:
            pytest.skip(f"ffmpeg has no encoder for {suffix}")
    return np.asarray(soundfile.read(back, dtype="float32", always_2d=True)[0])
