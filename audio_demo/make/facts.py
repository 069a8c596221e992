"""Measure a finished song with an independent meter (libebur128) and plain sums."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyebur128

from .score import Section, Timeline
from .signal import RATE_HZ, Audio, frames_in


@dataclass(frozen=True)
class Facts:
    """What is stated of every song; the units are in the names."""

    integrated_lufs: float
    true_peak_dbtp: float
    sample_peak_dbfs: float
    loudness_range_lu: float
    peak_to_loudness_db: float
    correlation: float
    mono_change_lu: float
    chorus_over_verse_lu: float | None


def _meter(audio: Audio) -> pyebur128.R128State:
    modes = (
        pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_LRA | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    )
    state = pyebur128.R128State(audio.shape[1], RATE_HZ, modes)
    state.add_frames(np.ascontiguousarray(audio, dtype=np.float32).ravel(), len(audio))
    return state


def loudness_lufs(audio: Audio) -> float:
    """Return the integrated loudness (ITU-R BS.1770, gated)."""
    return float(pyebur128.get_loudness_global(_meter(audio)))


def true_peak_dbtp(audio: Audio) -> float:
    """Return the highest true peak of the channels."""
    state = _meter(audio)
    peaks = [pyebur128.get_true_peak(state, channel) for channel in range(audio.shape[1])]
    return float(20.0 * np.log10(max(peaks)))


def _sections_lufs(audio: Audio, timeline: Timeline, sections: Sequence[Section], kind: str) -> float | None:
    """Loudness of all sections of a kind, joined, if the song has any."""
    pieces = []
    for section in sections:
        if section.name.startswith(kind):
            start, end = timeline.at(section.first_bar), timeline.at(section.first_bar + section.bars)
            pieces.append(audio[frames_in(start) : frames_in(end)])
    return loudness_lufs(np.concatenate(pieces)) if pieces else None


def _lift_lu(audio: Audio, timeline: Timeline, sections: Sequence[Section]) -> float | None:
    """How much louder the choruses are than the verses, in a song that has both."""
    chorus, verse = (_sections_lufs(audio, timeline, sections, kind) for kind in ("chorus", "verse"))
    return None if chorus is None or verse is None else chorus - verse


def measure(audio: Audio, timeline: Timeline, sections: Sequence[Section]) -> Facts:
    """Return the facts of a song of two channels."""
    state = _meter(audio)
    integrated = float(pyebur128.get_loudness_global(state))
    peak = true_peak_dbtp(audio)
    left, right = audio[:, 0].astype(np.float64), audio[:, 1].astype(np.float64)
    # Folded to mono, each channel carries the mean of the two.
    folded = np.repeat(audio.mean(axis=1, keepdims=True), 2, axis=1).astype(np.float32)
    return Facts(
        integrated_lufs=integrated,
        true_peak_dbtp=peak,
        sample_peak_dbfs=float(20.0 * np.log10(np.abs(audio).max())),
        loudness_range_lu=float(pyebur128.get_loudness_range(state)),
        peak_to_loudness_db=peak - integrated,
        correlation=float(np.sum(left * right) / np.sqrt(np.sum(left**2) * np.sum(right**2))),
        mono_change_lu=loudness_lufs(folded) - integrated,
        chorus_over_verse_lu=_lift_lu(audio, timeline, sections),
    )
