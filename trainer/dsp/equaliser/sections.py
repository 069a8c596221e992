"""One second-order section whose curve follows an analogue one up to the top, instead of being squeezed there.

The squared magnitude of a section is a ratio of two functions, each linear in three numbers, of which the section
itself follows in closed form, stable and of minimum phase. So a section can be matched at a few frequencies and then
be fitted to a whole curve by a few steps of linear algebra.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[np.float64]
# Gives the analogue curve's amplitude factor at frequencies, Hz.
Curve = Callable[[Values], Values]

IDENTITY = np.array([[1.0, 0.0, 0.0, 1.0, 0.0, 0.0]])
# A matched section as near as this to its curve is left as it is.
CLOSE_ENOUGH_DB = 0.002
STEPS = 40
# Where music has its weight the curve must be right first.
WEIGHTED_TO_HZ = 10500.0
WEIGHT = 7.0
HIGHEST_FITTED_HZ = 20000.0


def spread_powers(angles: Values) -> Values:
    """Give the three functions of the angle, radians a frame, that make up any squared magnitude, shape (n, 3)."""
    half = np.sin(angles / 2) ** 2
    return np.stack([1 - half, half, 4 * half * (1 - half)], axis=-1)


def find_polynomial(powers: Values) -> Values:
    """Find the minimum-phase polynomial of a squared magnitude, shape (3,), of its three numbers."""
    at_zero, at_nyquist = np.sqrt(powers[:2])
    mean = 0.5 * (at_zero + at_nyquist)
    first = 0.5 * (mean + np.sqrt(max(mean**2 + powers[2], 0.0)))
    return np.array([first, 0.5 * (at_zero - at_nyquist), -powers[2] / (4 * first)])


def square_polynomial(polynomial: Values) -> Values:
    """Give the three numbers of the squared magnitude of a polynomial, shape (3,)."""
    return np.array(
        [
            polynomial.sum() ** 2,
            (polynomial[0] - polynomial[1] + polynomial[2]) ** 2,
            -4 * polynomial[0] * polynomial[2],
        ]
    )


def place_poles(natural_hz: float, damping: float, rate_hz: int) -> Values:
    """Carry a pair of analogue poles over by impulse invariance; the denominator, shape (3,)."""
    angle = 2 * np.pi * natural_hz / rate_hz
    decay = np.exp(-damping * angle)
    turn = np.sqrt(complex(1 - damping**2)) * angle
    return np.array([1.0, -2 * decay * np.cos(turn).real, decay**2])


def invert_section(sections: Values) -> Values:
    """Exchange numerators and denominators, shape (n, 6): a cut that undoes a boost."""
    return np.asarray(np.concatenate([sections[:, 3:], sections[:, :3]], axis=1) / sections[:, :1])


def measure_sections(sections: Values, frequencies_hz: Values, rate_hz: int) -> Values:
    """Give the amplitude factor of sections in a row, at frequencies, Hz."""
    functions = spread_powers(2 * np.pi * np.asarray(frequencies_hz) / rate_hz)
    gain = np.ones(functions.shape[0])
    for section in sections:
        gain *= np.sqrt((functions @ square_polynomial(section[:3])) / (functions @ square_polynomial(section[3:])))
    return gain


def fit_section(numerator: Values, denominator: Values, curve: Curve, centre_hz: float, rate_hz: int) -> Values:
    """Fit a matched section to its curve by least squares in dB, from 20 Hz to the top of what is heard.

    Parameters
    ----------
    numerator, denominator : ndarray, shape (3,)
        Squared magnitudes of the matched section, as the three numbers of each.
    curve : callable
        The analogue curve.
    centre_hz : float
        Where the curve bends.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray, shape (1, 6)
        The better one of the matched and the fitted section.
    """
    highest = min(max(HIGHEST_FITTED_HZ, 0.4 * rate_hz), 0.48 * rate_hz)
    frequencies = np.concatenate(
        [np.geomspace(20, min(centre_hz, 0.8 * highest), 60), np.linspace(centre_hz, highest, 120)]
    )
    functions = spread_powers(2 * np.pi * frequencies / rate_hz)
    wished = 20 * np.log10(curve(frequencies))
    weights = np.where(frequencies <= WEIGHTED_TO_HZ, WEIGHT, 1.0)
    start = np.concatenate([_make_sound(numerator), denominator])
    if np.abs(_compare(start, functions, wished)).max() > CLOSE_ENOUGH_DB:
        start = _descend(start, functions, wished, weights)
    a, b = find_polynomial(start[3:]), find_polynomial(start[:3])
    return np.asarray(np.concatenate([b, a])[None, :] / a[0])


def _descend(start: Values, functions: Values, wished: Values, weights: Values) -> Values:
    """Go downhill by damped Gauss-Newton steps in relative changes of the six numbers, the fourth being held."""
    scale = np.maximum(np.abs(start), 1e-3 * np.abs(start).max())
    best, miss, damping = start, weights * _compare(start, functions, wished), 1e-3
    for _ in range(STEPS):
        slope = weights[:, None] * _differentiate(best, functions) * scale
        slope[:, 3] = 0.0
        normal, pull = slope.T @ slope, slope.T @ miss
        while damping < 1e6:
            trial: Values = best - scale * np.linalg.solve(normal + damping * np.diag(np.diag(normal) + 1e-9), pull)
            trial_miss = (
                weights * _compare(trial, functions, wished)
                if _is_positive(trial[:3]) and _is_positive(trial[3:])
                else np.array([np.inf])
            )
            if trial_miss @ trial_miss < miss @ miss:
                break
            damping *= 10
        else:
            return best
        gained = 1 - (trial_miss @ trial_miss) / (miss @ miss)
        best, miss, damping = trial, trial_miss, damping / 10
        if gained < 1e-4:
            return best
    return best


def _make_sound(powers: Values) -> Values:
    """Raise a squared magnitude, where matching took it below zero, just above."""
    if _is_positive(powers):
        return powers
    ends = np.maximum(powers[:2], 1e-3 * powers[:2].max())
    return np.array([*ends, max(powers[2], -0.99 * (0.5 * np.sqrt(ends).sum()) ** 2)])


def _is_positive(powers: Values) -> bool:
    """Tell whether a squared magnitude is above zero all the way."""
    return bool(powers[0] > 0 and powers[1] > 0 and (0.5 * np.sqrt(powers[:2]).sum()) ** 2 + powers[2] > 0)


def _compare(numbers: Values, functions: Values, wished: Values) -> Values:
    """Give the section's curve over the wished one, dB."""
    ratio = (functions @ numbers[:3]) / (functions @ numbers[3:])
    return np.asarray(10 * np.log10(ratio) - wished)


def _differentiate(numbers: Values, functions: Values) -> Values:
    """Give the change of the curve, dB, with each of the six numbers."""
    factor = 10 / np.log(10)
    above = functions / (functions @ numbers[:3])[:, None]
    below = functions / (functions @ numbers[3:])[:, None]
    return np.asarray(factor * np.concatenate([above, -below], axis=1))
