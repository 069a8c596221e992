"""A demo song as listed and as read, and meters that share no code with the trainer or the workshop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pyebur128
import soundfile as sf
import yaml
from numpy.typing import NDArray
from scipy import signal as sps

FOLDER = Path(__file__).parents[2] / "audio_demo"
ENTRIES: list[dict[str, Any]] = yaml.safe_load((FOLDER / "songs.yaml").read_text(encoding="utf-8"))["songs"]
# Four steps of 16 bits: dither of two steps peak to peak, and half a step of rounding.
DITHER_PEAK = 4.0 / 32768.0

Audio = NDArray[np.float32]
Window = tuple[float, float]

# What a song may state of itself, by the state it is left in (common practice, no source): open mixes
# before mastering, a dense and saturated one, and a hot one with its limiter left on.
STATES: dict[str, dict[str, Window]] = {
    "open": {
        "integrated_lufs": (-20.0, -15.0),
        "true_peak_dbtp": (-6.0, -3.0),
        "peak_to_loudness_db": (12.0, 20.0),
    },
    "dense": {
        "integrated_lufs": (-15.0, -10.0),
        "true_peak_dbtp": (-3.0, -0.1),
        "peak_to_loudness_db": (7.5, 12.0),
    },
    "hot": {
        "integrated_lufs": (-10.5, -7.5),
        "true_peak_dbtp": (-0.5, 2.0),
        "peak_to_loudness_db": (7.0, 12.0),
    },
}


@dataclass(frozen=True)
class SongFile:
    """A song as listed and as read."""

    entry: dict[str, Any]
    audio: Audio
    rate_hz: int

    @property
    def beat_s(self) -> float:
        """Length of a beat in seconds."""
        return 60.0 / float(self.entry["tempo_bpm"])

    @property
    def bar_s(self) -> float:
        """Length of a bar in seconds."""
        return float(self.entry["beats_per_bar"]) * self.beat_s

    @property
    def states(self) -> list[str]:
        """The states whose limits hold all the windows the song states of itself."""
        stated = self.entry["windows"]
        return [
            state
            for state, limits in STATES.items()
            if all(low <= stated[name][0] <= stated[name][1] <= high for name, (low, high) in limits.items())
        ]

    def has(self, trait: str) -> bool:
        """Whether the list says so."""
        return trait in self.entry["traits"]

    def between(self, start_s: float, end_s: float) -> Audio:
        """The frames between two times."""
        return self.audio[round(start_s * self.rate_hz) : round(end_s * self.rate_hz)]

    def sections(self, kind: str) -> Audio:
        """All sections of a kind, joined; empty if there are none."""
        found = [s for s in self.entry["sections"] if s["name"].startswith(kind)]
        return np.concatenate([self.audio[:0], *(self.between(s["start_s"], s["end_s"]) for s in found)])

    def backbeats_s(self) -> list[float]:
        """Beats two and four of every bar of the choruses."""
        out = []
        for section in self.entry["sections"]:
            if section["name"].startswith("chorus"):
                for bar in range(round((section["end_s"] - section["start_s"]) / self.bar_s)):
                    out += [section["start_s"] + (bar + part) * self.bar_s for part in (0.25, 0.75)]
        return out


@cache
def read(name: str) -> tuple[Audio, int]:
    """Read a file of the folder once."""
    audio, rate_hz = sf.read(FOLDER / name, dtype="float32", always_2d=True)
    return audio, rate_hz


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


def steps_db(audio: Audio, rate_hz: int, step_s: float) -> NDArray[np.float64]:
    """RMS levels of equal steps, both channels together, in dBFS."""
    step = round(step_s * rate_hz)
    squares = audio.astype(np.float64)[: len(audio) // step * step] ** 2
    return np.asarray(10.0 * np.log10(squares.reshape(-1, step * audio.shape[1]).mean(axis=1) + 1e-20))


def third_octaves_db(audio: Audio, rate_hz: int, centres_hz: Sequence[int]) -> dict[int, float]:
    """Levels of third-octave bands, both channels together, from an averaged periodogram."""
    freq_hz, power = sps.welch(audio, rate_hz, nperseg=16384, axis=0)
    out = {}
    for centre_hz in centres_hz:
        inside = (freq_hz > centre_hz * 2 ** (-1 / 6)) & (freq_hz < centre_hz * 2 ** (1 / 6))
        out[centre_hz] = float(10.0 * np.log10(power[inside].sum() * (freq_hz[1] - freq_hz[0])))
    return out
