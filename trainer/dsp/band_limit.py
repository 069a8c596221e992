"""A gentle end at 21 kHz, put on every version of a question whose move makes or rides peaks.

True peak is ill-defined near Nyquist: without this filter no limiter can promise a ceiling on every meter.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip
from trainer.audio.loops import process_in_steady_state
from trainer.dsp.processor import Overlapped, Rows

CORNER_HZ = 21000.0
TAPS = 255
QUANTUM_FRAMES = 1024


@lru_cache(maxsize=4)
def design_band_limit(rate_hz: int) -> npt.NDArray[np.float64]:
    """Design the linear-phase low-pass, shape (255,); a single 1 where Nyquist is at or below the corner."""
    if rate_hz <= 2 * CORNER_HZ * 1.01:
        return np.ones(1)
    return np.asarray(scipy.signal.firwin(TAPS, CORNER_HZ, fs=rate_hz, window=("kaiser", 6.0)), dtype=np.float64)


def limit_band(samples: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.float64]:
    """Filter samples, shape (frames, 2), without delay; what lies outside the ends counts as silence."""
    kernel = design_band_limit(rate_hz)
    if kernel.size == 1:
        return samples.astype(np.float64)
    return np.asarray(scipy.signal.oaconvolve(samples.astype(np.float64), kernel[:, None], mode="same", axes=0))


def limit_loop(loop: Clip) -> Clip:
    """Put the gentle end at 21 kHz on a loop, in steady state."""
    side = band_limit_side_frames()
    return loop.with_samples(process_in_steady_state(lambda x: limit_band(x, loop.rate_hz), loop.samples, side, side))


def begin_band_limit(rate_hz: int) -> Overlapped:
    """Filter block by block."""

    def limit_rows(rows: Rows) -> Rows:
        return np.ascontiguousarray(limit_band(rows.T, rate_hz).T)

    return Overlapped(limit_rows, band_limit_side_frames(), QUANTUM_FRAMES)


def band_limit_side_frames() -> int:
    """Frames on either side that the filter looks at."""
    return TAPS // 2 + 1
