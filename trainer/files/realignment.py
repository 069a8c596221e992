"""A decoded sound brought back into step with the one that was coded."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.errors import BadValue

Samples = npt.NDArray[np.float32]

# A second or so in the loudest place is enough; codecs delay by less than a fifth of a second.
LOOK_S = 4.0
FURTHEST_S = 0.2
# The rest of a delay, read from the phase where every codec keeps it.
PHASE_BAND_HZ = (200.0, 4000.0)
MOST_REST_FRAMES = 0.1
SURE = 4.0
# Coding turns every line's phase by so much at least; a lone tone says little of the delay.
LEAST_OFF_RAD = 0.02
# With less of the sound than this in the band, nothing is read from it.
LEAST_IN_BAND = 1e-3
LEAST_LIKENESS = 0.3
NEARLY = 0.9


def realign(original: Samples, decoded: Samples, rate_hz: int, where: str) -> Samples:
    """Cut and pad a decoded sound so that it is as long as the original and in step to the sample.

    Parameters
    ----------
    original, decoded : ndarray of float32, shape (frames, 2)
        Before and after coding.
    rate_hz : int
        Rate of both.
    where : str
        The codec, for the error.

    Returns
    -------
    ndarray of float32, shape of ``original``

    Raises
    ------
    BadValue
        If the two are not alike, or more than a tenth of a sample out of step after that.
    """
    if not original.any():
        return np.zeros_like(original)
    first, frames = _find_loudest(original, rate_hz)
    part = original[first : first + frames]
    best = 0.0
    for lag in _find_lags(part, decoded, first, rate_hz, where):
        moved = _shift(decoded, lag, original.shape[0])
        rest, doubt = measure_rest(part, moved[first : first + frames], rate_hz)
        if abs(rest) <= MOST_REST_FRAMES + SURE * doubt:
            return moved
        best = lag + rest
    raise BadValue(where, "delay_frames", f"{best:.2f}", "a whole number of samples after decoding")


def measure_rest(original: Samples, moved: Samples, rate_hz: int) -> tuple[float, float]:
    """Measure by what part of a sample one sound is later than another, from the slope of the phase.

    Returns
    -------
    tuple of float
        The delay and its standard error, frames; what coding adds makes the phase of soft lines uncertain.
    """
    window = np.hanning(original.shape[0])[:, None]
    x, y = (np.fft.rfft(part * window, axis=0) for part in (original, moved))
    frequencies = np.fft.rfftfreq(original.shape[0], 1 / rate_hz)
    band = (frequencies > PHASE_BAND_HZ[0]) & (frequencies < PHASE_BAND_HZ[1])
    cross = (np.conj(x) * y)[band].sum(axis=1)
    turn, weight, angle = 2 * np.pi * frequencies[band] / rate_hz, np.abs(cross), np.angle(cross)
    total = float((weight * turn**2).sum())
    whole = float(np.sqrt((np.abs(x) ** 2).sum() * (np.abs(y) ** 2).sum()))
    if total <= 0 or weight.sum() < LEAST_IN_BAND * whole:
        return 0.0, 0.0
    rest = -float((weight * turn * angle).sum()) / total
    off = np.maximum(np.abs(angle + rest * turn), LEAST_OFF_RAD)
    return rest, float(np.sqrt(((weight * turn * off) ** 2).sum())) / total


def _find_loudest(samples: Samples, rate_hz: int) -> tuple[int, int]:
    """Find the loudest stretch of four seconds: its first frame and its length."""
    frames = min(samples.shape[0], int(LOOK_S * rate_hz))
    total = np.concatenate([[0.0], np.cumsum((samples.astype(np.float64) ** 2).sum(axis=1))])
    return int((total[frames:] - total[:-frames]).argmax()), frames


def _find_lags(part: Samples, decoded: Samples, first: int, rate_hz: int, where: str) -> tuple[int, ...]:
    """Find by how many frames the decoded sound may be late: none first, if that is nearly as likely as the best."""
    furthest = int(FURTHEST_S * rate_hz)
    around = _shift(decoded, first - furthest, part.shape[0] + 2 * furthest)
    x, y = part.astype(np.float64), around.astype(np.float64)
    fit = np.sum([scipy.signal.correlate(y[:, side], x[:, side], "valid", "fft") for side in (0, 1)], axis=0)
    place = int(fit.argmax())
    power = float((y[place : place + part.shape[0]] ** 2).sum() * (x**2).sum())
    if power <= 0 or fit[place] < LEAST_LIKENESS * np.sqrt(power):
        raise BadValue(where, "decoded", "another sound", "what was coded")
    # Held notes and constants fit at many delays, and most codecs have none.
    return (0, place - furthest) if fit[furthest] > NEARLY * fit[place] else (place - furthest,)


def _shift(samples: Samples, first: int, frames: int) -> Samples:
    """Cut so many frames from a frame on, with silence where there are none."""
    out = np.zeros((frames, samples.shape[1]), dtype=np.float32)
    start, stop = max(first, 0), min(first + frames, samples.shape[0])
    if stop > start:
        out[start - first : stop - first] = samples[start:stop]
    return out
