"""Asking for an effect that grows with a setting: found on the sound itself, in few renderings."""

from __future__ import annotations

import math
from collections.abc import Callable

from trainer.errors import BadValue

MOST_TRIALS = 40


def find_growing(
    effect_of: Callable[[float], float], wanted: float, low: float, high: float, start: float, close: float
) -> tuple[float, float]:
    """Find the setting that gives a wanted effect; both are above 0 and grow together, about by ratio.

    A line through the last two trials on logarithmic scales, held between settings known to be too small and too
    large, halving what lies between where the line leads out of it.

    Parameters
    ----------
    effect_of : callable
        Measures the effect of a setting, 0 or more.
    wanted : float
        The effect asked for.
    low, high, start : float
        Bounds of the setting, and where to begin.
    close : float
        Relative error of the effect that is good enough.

    Returns
    -------
    tuple of float
        The setting and the effect that it gives; the upper bound and its effect where that is not enough.
    """
    least, most = math.log(low), math.log(high)
    place = min(max(math.log(start), least), most)
    small, large, slope, effect = -math.inf, math.inf, 1.0, 0.0
    last: tuple[float, float] | None = None
    for _ in range(MOST_TRIALS):
        effect = effect_of(math.exp(place))
        miss = math.log(max(effect, 1e-12) / wanted)
        if abs(miss) <= close or (miss < 0 and place >= most) or (miss > 0 and place <= least):
            break
        small, large = (place, large) if miss < 0 else (small, place)
        if large - small < 1e-9:
            break
        if last is not None:
            slope = min(max((miss - last[1]) / (place - last[0]), 0.1), 10.0)
        last, wished = (place, miss), min(max(place - miss / slope, least), most)
        place = wished if small < wished < large else (small + large) / 2
    return min(max(math.exp(place), low), high), effect


def refuse_amount(move: str, amount: float, unit: str) -> None:
    """Refuse an amount that is no number or below 0.

    Raises
    ------
    BadValue
        With what was expected.
    """
    if not (math.isfinite(amount) and amount >= 0):
        raise BadValue(move, "amount", f"{amount:g}", f"0 {unit} or more")
