"""What the pictures of a check show, as plain series."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.decisions.evidence import Evidence
from trainer.decisions.reasons import FAULT_NAMES
from trainer.decisions.target import Target
from trainer.measure import standards
from trainer.measure.steps import STEP_S

COLUMNS = 900
FLOOR_LUFS = -60.0


@dataclass(frozen=True)
class CheckPictures:
    """Hold the series of a check's pictures.

    Parameters
    ----------
    duration_s : float
        Length of the file.
    peaks : tuple of tuple of float
        For each channel, the highest sample magnitude of each of up to 900 equal parts of the file.
    faults : tuple of (str, float, float)
        Name, start and end, s, of each fault.
    loudness_s, short_term_lufs : tuple of float
        Times, s, and short-term loudness; no lower than −60 LUFS.
    aim_lufs, integrated_lufs : float or None
        The target's loudness and the file's.
    bands : tuple of (float, float)
        Centre, Hz, and level, dB, of each third octave that holds something.
    """

    duration_s: float
    peaks: tuple[tuple[float, ...], ...]
    faults: tuple[tuple[str, float, float], ...]
    loudness_s: tuple[float, ...]
    short_term_lufs: tuple[float, ...]
    aim_lufs: float | None
    integrated_lufs: float | None
    bands: tuple[tuple[float, float], ...]


def gather_pictures(evidence: Evidence, target: Target | None) -> CheckPictures:
    """Gather what is drawn of a file, thinned out to what a picture can show."""
    programme = evidence.programme
    short_term = programme.loudness.short_term_lufs
    stride = max(1, short_term.size // COLUMNS)
    shown = np.maximum(short_term[::stride], FLOOR_LUFS)
    times = standards.SHORT_TERM_S + np.arange(shown.size) * stride * STEP_S
    integrated = programme.loudness.integrated_lufs
    return CheckPictures(
        programme.duration_s,
        tuple(_thin(row) for row in programme.peaks.sample),
        tuple((FAULT_NAMES[f.kind], f.start_s, f.end_s) for f in evidence.scan.faults),
        tuple(times.tolist()),
        tuple(shown.tolist()),
        None if target is None else target.aim_lufs,
        integrated if np.isfinite(integrated) else None,
        tuple((centre, level) for centre, level in programme.spectrum.third_octaves if level is not None),
    )


def _thin(peaks: np.ndarray) -> tuple[float, ...]:
    """Keep the highest value of each part."""
    if peaks.size <= COLUMNS:
        return tuple(float(value) for value in peaks)
    starts = np.arange(COLUMNS) * peaks.size // COLUMNS
    return tuple(float(value) for value in np.maximum.reduceat(peaks, starts))
