"""A straight lean of the whole spectrum, made of poles and zeros that take turns along the octaves."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from trainer.dsp.equaliser.prototypes import Values, tilt_gain
from trainer.dsp.equaliser.sections import IDENTITY, fit_section, invert_section, measure_sections, square_polynomial

PAIRS = 9
GRID_HZ = (5.0, 40000.0)
# Pairs at the top that become one section, fitted to what is left of the line: a digital curve must flatten
# towards Nyquist, and the fit puts that above what is heard.
FITTED_PAIRS = 2
# A first-order pole and zero, far apart, rise by so much over three decades.
WHOLE_RISE_DB = 60.0
# Where the fitted section begins to matter, and where it starts level with the line.
BEND_HZ = 8000.0
START_HZ = 1000.0


def design_tilt(pivot_hz: float, tilt_db: float, rate_hz: int) -> Values:
    """Design a filter whose curve is close to a straight line in dB against octaves.

    Parameters
    ----------
    pivot_hz : float
        Frequency that keeps its level.
    tilt_db : float
        Rise from 20 Hz to 20 kHz, dB; 0 gives a filter that changes nothing.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray of float64, shape (5, 6)
        Second-order sections.

    Notes
    -----
    Nine pairs of a real pole and a real zero, evenly spaced on a logarithmic axis; within each, the zero stands
    before the pole by the share of the spacing that the slope is of 6 dB an octave. From 20 Hz to 20 kHz the curve
    keeps within 0.004 dB of the line for each dB of tilt.
    """
    if tilt_db == 0:
        return IDENTITY.copy()
    sections = _design(abs(tilt_db), rate_hz)
    if tilt_db < 0:
        sections = invert_section(sections)
    normalised = sections.copy()
    normalised[0, :3] /= measure_sections(sections, np.array([pivot_hz]), rate_hz)[0]
    return normalised


@lru_cache(maxsize=128)
def _design(tilt_db: float, rate_hz: int) -> Values:
    """Make the lower pairs, then fit a section in place of the upper ones."""
    low_hz, high_hz = GRID_HZ
    spacing = (high_hz / low_hz) ** (1 / PAIRS)
    middles = low_hz * spacing ** (np.arange(PAIRS) + 0.5)
    apart = spacing ** (tilt_db / WHOLE_RISE_DB / 2)
    zeros, poles = (np.exp(-2 * np.pi * f / rate_hz) for f in (middles / apart, middles * apart))
    split = PAIRS - FITTED_PAIRS
    lower = np.array([_join(zeros[i : min(i + 2, split)], poles[i : min(i + 2, split)]) for i in range(0, split, 2)])
    top = _join(zeros[split:], poles[split:])

    def rest(frequencies_hz: Values) -> Values:
        line = tilt_gain(frequencies_hz, START_HZ, tilt_db)
        return np.asarray(line / measure_sections(lower, frequencies_hz, rate_hz))

    start = np.array([START_HZ])
    level = (rest(start) / measure_sections(top[None, :], start, rate_hz))[0]
    numerator, denominator = square_polynomial(level * top[:3]), square_polynomial(top[3:])
    return np.concatenate([lower, fit_section(numerator, denominator, rest, BEND_HZ, rate_hz)])


def _join(zeros: Values, poles: Values) -> Values:
    """Make a section, shape (6,), of one or two real zeros and as many poles."""
    return np.concatenate([np.pad(np.poly(roots), (0, 2 - roots.size)) for roots in (zeros, poles)])
