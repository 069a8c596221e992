"""A compressor value by value, as the literature states it; written apart from the one that is tested."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Wave = npt.NDArray[np.float64]


def static_reduction_db(level_db: float, threshold_db: float, ratio: float, knee_db: float) -> float:
    """Give input less output level of the soft-knee curve of Giannoulis, Massberg and Reiss, equation by equation."""
    over = level_db - threshold_db
    if 2 * over < -knee_db:
        out = level_db
    elif 2 * abs(over) <= knee_db and knee_db > 0:
        out = level_db + (1 / ratio - 1) * (over + knee_db / 2) ** 2 / (2 * knee_db)
    else:
        out = threshold_db + over / ratio
    return level_db - out


def follow_by_steps(wished: Wave, rate_hz: int, attack_s: float, release_s: float, slow_release_s: float = 0.0) -> Wave:
    """Run the smooth decoupled peak detector of the same paper, value by value.

    With a slow release: every 16 values their mean after the release goes into a one-pole of 300 ms; the largest of
    what comes out, decaying with the slow release, is the floor of the next 16 values.
    """
    attack, release = (math.exp(-1 / (rate_hz * time_s)) for time_s in (attack_s, release_s))
    average, slow = math.exp(-16 / (rate_hz * 0.3)), math.exp(-16 / (rate_hz * max(slow_release_s, 1e-3)))
    first = second = mean = floor = total = 0.0
    followed = np.empty_like(wished)
    for n, value in enumerate(wished.tolist()):
        first = max(value, release * first + (1 - release) * value)
        held = max(first, floor) if slow_release_s else first
        second = attack * second + (1 - attack) * held
        followed[n] = second
        total += first
        if n % 16 == 15:
            mean = average * mean + (1 - average) * total / 16
            floor, total = max(mean, slow * floor), 0.0
    return followed


def high_pass_by_steps(wave: Wave, corner_hz: float, rate_hz: int) -> Wave:
    """Run a second-order Butterworth high-pass, bilinear transform with its corner kept, value by value."""
    k = math.tan(math.pi * corner_hz / rate_hz)
    norm = 1 / (1 + math.sqrt(2) * k + k * k)
    a1, a2 = 2 * (k * k - 1) * norm, (1 - math.sqrt(2) * k + k * k) * norm
    x1 = x2 = y1 = y2 = 0.0
    out = np.empty_like(wave)
    for n, x in enumerate(wave.tolist()):
        y = norm * (x - 2 * x1 + x2) - a1 * y1 - a2 * y2
        out[n] = y
        x1, x2, y1, y2 = x, x1, y, y1
    return out
