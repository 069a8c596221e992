"""How far peaks stand over loudness: in all, over the last 3 s, at the hits; and whether they stand at a ceiling."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from trainer.measure import standards
from trainer.measure.hits import find_bursts
from trainer.measure.loudness_trace import LoudnessTrace
from trainer.measure.peak_trace import PeakTrace
from trainer.measure.steps import STEP_S

# Peaks so near to the highest of all are said to stand at a ceiling. Common practice, no source.
AT_CEILING_DB = 0.3
CEILING_WINDOW_STEPS = 10
SHORT_TERM_STEPS = round(standards.SHORT_TERM_S / STEP_S)


@dataclass(frozen=True)
class Dynamics:
    """Say how a file's peaks stand over its loudness.

    Parameters
    ----------
    peak_to_loudness_db : float or None
        True peak over integrated loudness.
    short_term_dynamics_db : float or None
        Highest true peak of 3 s over the short-term loudness of the same 3 s: median over the loud part of the file.
    densest_db : float or None
        The same, at its 10th percentile: how dense the densest part is.
    transient_crest_db : float or None
        Mean true peak at the hits over the integrated loudness; None without hits.
    ceiling_share : float or None
        Share of tenths of a second, of those within 10 dB of the loudest, whose peak is within 0.3 dB of the highest
        of the file, 0 to 1; of true or of sample peaks, whichever holds them more often: limiters do the one,
        clippers the other.
    """

    peak_to_loudness_db: float | None
    short_term_dynamics_db: float | None
    densest_db: float | None
    transient_crest_db: float | None
    ceiling_share: float | None


def measure_dynamics(loudness: LoudnessTrace, peaks: PeakTrace) -> Dynamics:
    """Measure the dynamics of a file from its loudness and its peaks."""
    integrated, highest = loudness.integrated_lufs, peaks.true_peak_dbtp
    if not (math.isfinite(integrated) and math.isfinite(highest)):
        return Dynamics(None, None, None, None, None)
    tops = peaks.true.max(axis=0)[: loudness.power.size]
    over = _stand_over_short_term(loudness, tops)
    return Dynamics(
        highest - integrated,
        float(np.median(over)) if over.size else None,
        float(np.percentile(over, 10)) if over.size else None,
        _crest_hits(loudness, tops, integrated),
        max(_share_at_ceiling(tops), _share_at_ceiling(peaks.sample.max(axis=0))),
    )


def _stand_over_short_term(loudness: LoudnessTrace, tops: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
    """Peak over short-term loudness, dB, every 100 ms where the file is within 10 LU of its loudest 3 s."""
    short_term = loudness.short_term_lufs[::10]
    if short_term.size == 0:
        return np.zeros(0)
    centred = scipy.ndimage.maximum_filter1d(tops, SHORT_TERM_STEPS)
    highest = centred[SHORT_TERM_STEPS // 2 :][: 10 * short_term.size : 10]
    loud = np.isfinite(short_term) & (short_term > short_term.max() + standards.RELATIVE_GATE_LU)
    return np.asarray(20 * np.log10(highest[loud]) - short_term[loud], dtype=np.float64)


def _crest_hits(loudness: LoudnessTrace, tops: npt.NDArray[np.float32], integrated_lufs: float) -> float | None:
    """Mean peak at the hits over the loudness, dB; hits are bursts of the weighted power."""
    places = np.flatnonzero(find_bursts(loudness.power)) if loudness.power.size else np.zeros(0, int)
    if places.size == 0:
        return None
    around = scipy.ndimage.maximum_filter1d(tops, 3)
    return float(20 * np.log10(around[places].mean() + 1e-12)) - integrated_lufs


def _share_at_ceiling(tops: npt.NDArray[np.float32]) -> float:
    """Share of loud tenths of a second whose peak stands at the highest of all."""
    count = tops.size // CEILING_WINDOW_STEPS
    if count == 0:
        return 0.0
    tallest = tops[: count * CEILING_WINDOW_STEPS].reshape(count, CEILING_WINDOW_STEPS).max(axis=1)
    loud = tallest[tallest > tallest.max() * 10 ** (-10 / 20)]
    return float((loud >= tallest.max() * 10 ** (-AT_CEILING_DB / 20)).mean())
