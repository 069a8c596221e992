"""A bend of the wave with even and odd overtones, described by what it makes of a sine."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import scipy

from trainer.dsp.colour.oversampling import Wave
from trainer.errors import BadValue, NotReachable

# Points of the sums, enough for a sine bent almost to a square.
POINTS = 512
# The harmonics that count: of 997 Hz, those below 20 kHz.
HARMONICS = 20
CLOSEST = 1e-9
MOST_THD = 0.40
MOST_EVEN_SHARE = 0.95


@dataclass(frozen=True)
class Bend:
    """Bend a wave by f(x) = (tanh(d x + b) − tanh b) / (d sech² b): small sounds pass unchanged.

    Parameters
    ----------
    drive : float
        d, above 0; how early the wave bends.
    bias : float
        b, 0 or more; how unlike its two halves are bent. 0 makes odd harmonics only.
    """

    drive: float
    bias: float

    def apply(self, wave: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Bend a wave of any shape; full scale is 1.0."""
        middle = math.tanh(self.bias)
        return np.asarray((np.tanh(self.drive * wave + self.bias) - middle) / (self.drive * (1 - middle**2)))

    def write_added(self, wave: Wave, added: Wave) -> None:
        """Write into ``added`` what is added to a float32 wave of any shape, f(x) − x.

        With T = tanh(d x) and t = tanh b, f(x) = 1 / (d / T + d t): the same, without a difference of near numbers.
        """
        np.multiply(wave, np.float32(self.drive), out=added)
        np.tanh(added, out=added)
        if self.bias == 0:
            added *= np.float32(1 / self.drive)
        else:
            with np.errstate(divide="ignore", over="ignore"):
                np.divide(np.float32(self.drive), added, out=added)
            added += np.float32(self.drive * math.tanh(self.bias))
            np.divide(np.float32(1), added, out=added)
        added -= wave


@dataclass(frozen=True)
class Overtones:
    """Describe the harmonics of a sine.

    Parameters
    ----------
    thd : float
        Amplitude of the second to the 20th harmonic together against the fundamental, 0 and up.
    even_share : float
        Share of their power that is in the even ones, 0 to 1.
    """

    thd: float
    even_share: float


def sum_overtones(amplitudes: npt.NDArray[np.float64]) -> Overtones:
    """Sum up the amplitudes of a sine's harmonics, the fundamental first."""
    power = amplitudes**2
    over = float(power[1:].sum())
    if over <= 0 or power[0] <= 0:
        return Overtones(0.0, 0.0)
    return Overtones(math.sqrt(over / float(power[0])), float(power[1::2].sum()) / over)


def predict_harmonics(bend: Bend, peak: float) -> npt.NDArray[np.float64]:
    """Compute the harmonics of a bent sine without any sound.

    Parameters
    ----------
    bend : Bend
        The curve.
    peak : float
        Amplitude of the sine.

    Returns
    -------
    ndarray, shape (20,)
        Signed amplitudes of cosines, the fundamental first. Gauss-Chebyshev sums of 512 points.
    """
    angles, cosines = _angles()
    return np.asarray(cosines @ bend.apply(peak * np.cos(angles)))


@lru_cache(maxsize=64)
def find_bend(thd: float, even_share: float, peak: float) -> Bend:
    """Find the bend that gives a sine so much of harmonics.

    Parameters
    ----------
    thd : float
        Total harmonic distortion against the fundamental, above 0, at most 0.40.
    even_share : float
        Share of the harmonics' power in the even ones, 0 to 0.95.
    peak : float
        Amplitude of the sine, above 0.

    Returns
    -------
    Bend

    Raises
    ------
    BadValue
        If a figure is out of bounds.
    NotReachable
        If no bend is found.
    """
    _refuse_beyond(thd, even_share, peak)
    second, third = thd * math.sqrt(even_share), thd * math.sqrt(1 - even_share)
    # The series of the curve to the third power gives both unknowns in closed form: a place to start.
    driven = math.sqrt(12 * (third + second**2))
    bias = math.atanh(min(2 * second / driven, 0.56))

    if even_share == 0:
        drive, bias = _find_drive(thd, driven), 0.0
    else:
        drive, bias = _find_both(thd, even_share, driven, bias)
    got = sum_overtones(predict_harmonics(Bend(drive, bias), 1.0))
    if abs(got.thd / thd - 1) + abs(got.even_share - even_share) > CLOSEST:
        raise NotReachable(f"saturation: thd={100 * thd:.3g} %, expected less with {100 * even_share:.0f} % of it even")
    return Bend(drive / peak, bias)


def _find_drive(thd: float, guess: float) -> float:
    """Find the drive of a bend that is the same on both halves, for a sine of full scale."""

    def miss(drive_log: float) -> float:
        return sum_overtones(predict_harmonics(Bend(math.exp(drive_log), 0.0), 1.0)).thd / thd - 1

    return math.exp(scipy.optimize.brentq(miss, math.log(guess) - 1, math.log(guess) + 3, xtol=1e-13))


def _find_both(thd: float, even_share: float, drive: float, bias: float) -> tuple[float, float]:
    """Find drive and bias for a sine of full scale, from a guess."""

    def miss(trial: npt.NDArray[np.float64]) -> list[float]:
        got = sum_overtones(predict_harmonics(Bend(math.exp(trial[0]), float(trial[1])), 1.0))
        return [math.log(max(got.thd, 1e-12) / thd), got.even_share - even_share]

    found = scipy.optimize.least_squares(miss, [math.log(drive), bias], xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return math.exp(found.x[0]), float(found.x[1])


def _refuse_beyond(thd: float, even_share: float, peak: float) -> None:
    if not 0 < thd <= MOST_THD:
        raise BadValue("saturation", "thd", f"{thd:g}", f"above 0, at most {MOST_THD:g}")
    if not 0 <= even_share <= MOST_EVEN_SHARE:
        raise BadValue("saturation", "even_share", f"{even_share:g}", f"0 to {MOST_EVEN_SHARE:g}")
    if not 0 < peak < math.inf:
        raise BadValue("saturation", "peak", f"{peak:g}", "an amplitude above 0")


@lru_cache(maxsize=1)
def _angles() -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Chebyshev's angles, and the weights of each harmonic at them."""
    angles = np.pi * (np.arange(POINTS) + 0.5) / POINTS
    return angles, np.cos(np.outer(np.arange(1, HARMONICS + 1), angles)) * (2 / POINTS)
