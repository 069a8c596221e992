"""Songs of steady noise with a spectrum that is known in closed form, made here and not by what is tested."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
from scipy.signal import oaconvolve

from trainer.audio.clip import Clip
from trainer.audio.file_form import FileForm

RATE_HZ = 48000
Values = npt.NDArray[np.float64]


def flat(frequencies_hz: Values) -> Values:
    """Change nothing."""
    return np.zeros_like(frequencies_hz)


def make_steady(
    gain_db: Callable[[Values], Values] = flat, seed: int = 1, length_s: float = 15.0, side: float = 0.5
) -> Clip:
    """Make noise that falls by 3 dB an octave, of a random phase, with a gain against frequency, dB.

    ``side`` is the amplitude of the difference of the channels against that of the sum. Its level goes up and down
    by a few dB in a course of its own, as that of any song does, so that two of them are not one song.
    """
    rng = np.random.default_rng(seed)
    frames = int(length_s * RATE_HZ)
    lines = np.fft.rfftfreq(frames, 1 / RATE_HZ)
    heard = np.where((lines > 15) & (lines < 21000), 1 / np.sqrt(np.maximum(lines, 1.0)), 0.0)
    shape = heard * 10 ** (gain_db(np.maximum(lines, 1.0)) / 20)
    parts = [np.fft.irfft(shape * np.exp(2j * np.pi * rng.random(lines.size)), frames) for _ in range(2)]
    middle, sides = parts[0], side * parts[1]
    wave = np.stack([middle + sides, middle - sides], axis=1)
    steps = np.repeat(rng.uniform(-2.0, 2.0, int(8 * length_s) + 8), RATE_HZ // 8)[:frames]
    smooth = oaconvolve(steps, np.hanning(2400) / np.hanning(2400).sum(), "same")
    wave *= 10 ** (smooth / 20)[:, None]
    return Clip((0.1 * wave / np.sqrt((wave**2).mean())).astype(np.float32), RATE_HZ)


def describe(clip: Clip, coded: bool = False) -> FileForm:
    """Describe the file that a clip would be."""
    kind, encoding, bits = ("MP3", "MPEG_LAYER_III", None) if coded else ("WAV", "PCM_24", 24)
    return FileForm("song.wav", kind, encoding, clip.rate_hz, 2, clip.frames, bits)
