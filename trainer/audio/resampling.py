"""Change of sampling rate, clean enough to be left out of account."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt
import scipy

from trainer.audio.clip import Clip

ZERO_CROSSINGS = 48
KAISER_BETA = 12.0
CUTOFF = 0.955
WORKING_RATES_HZ = (44100, 48000)


def resample_clip(clip: Clip, rate_hz: int) -> Clip:
    """Convert a clip to another rate with a linear-phase Kaiser-windowed sinc.

    At 44.1 to 48 kHz and back the error stays below −120 dB up to 19 kHz and images below −110 dB.

    Parameters
    ----------
    clip : Clip
        The sound.
    rate_hz : int
        Rate wished, above 0.

    Returns
    -------
    Clip
        ``ceil(frames * rate_hz / clip.rate_hz)`` frames, without delay.
    """
    if rate_hz == clip.rate_hz:
        return clip
    ratio = Fraction(rate_hz, clip.rate_hz)
    window = _design(ratio.numerator, ratio.denominator)
    samples = scipy.signal.resample_poly(
        clip.samples.astype(np.float64),
        ratio.numerator,
        ratio.denominator,
        axis=0,
        window=window,  # type: ignore[call-overload, unused-ignore]
    )
    return Clip(np.ascontiguousarray(samples, dtype=np.float32), rate_hz)


def choose_working_rate(rate_hz: int) -> int:
    """Choose the rate of work for a file: its own if 44.1 or 48 kHz, else the one that divides more simply."""
    if rate_hz in WORKING_RATES_HZ:
        return rate_hz
    return min(reversed(WORKING_RATES_HZ), key=lambda wished: Fraction(wished, rate_hz).numerator)


def _design(up: int, down: int) -> npt.NDArray[np.float64]:
    """Design the low-pass at the lower of the two Nyquist frequencies."""
    widest = max(up, down)
    taps = 2 * ZERO_CROSSINGS * widest + 1
    return np.asarray(scipy.signal.firwin(taps, CUTOFF / widest, window=("kaiser", KAISER_BETA)), dtype=np.float64)
