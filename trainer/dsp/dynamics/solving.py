"""Settings for an asked effect: found on a coarse trace, put right by reading the rendered sound."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
import scipy

from trainer.errors import BadValue, NotReachable

Reading = npt.NDArray[np.float64]
# Readings may be off by this, dB; no more than that is tried for, and no more than the second is let pass.
CLOSE_DB = 0.002
FARTHEST_DB = 0.05
RENDERINGS = 8
STEEPEST = 3.0
SECANTS = 12
SECANT_CLOSE_DB = 1e-3
SOFTEST_PEAK_DBFS = -80.0


def check_amount(where: str, amount: float) -> None:
    """Refuse an amount that is no number or below 0.

    Raises
    ------
    BadValue
        With the amount.
    """
    if not (math.isfinite(amount) and amount >= 0):
        raise BadValue(where, "amount", f"{amount:g}", "0 dB or more")


def find_first(effect: Callable[[float], float], wished: float, grid: Sequence[float], where: str) -> float:
    """Find the first place on a grid, and then between its points, where an effect reaches what is wished.

    Parameters
    ----------
    effect : callable
        Continuous in its argument.
    wished : float
        The effect, dB.
    grid : sequence of float
        Places from no effect to the largest.
    where : str
        For the message.

    Returns
    -------
    float
        The place.

    Raises
    ------
    NotReachable
        With the largest effect on the grid.
    """
    last, most = grid[0], effect(grid[0])
    if most >= wished:
        return last
    for place in grid[1:]:
        value = effect(place)
        if value >= wished:
            return float(scipy.optimize.brentq(lambda x: effect(x) - wished, last, place, xtol=1e-5, rtol=1e-8))
        last, most = place, max(most, value)
    raise NotReachable(f"{where}: amount={wished:.2f}, expected at most {max(most, 0.0):.1f} dB on this excerpt")


def put_right(
    ask: Callable[[Reading], dict[str, float]],
    read: Callable[[dict[str, float]], Sequence[float]],
    wished: Sequence[float],
    where: str,
) -> dict[str, float]:
    """Ask a coarse solver for a little more or less until what is read from the rendered sound is right.

    Parameters
    ----------
    ask : callable
        Gives settings for effects, as a coarse trace has them.
    read : callable
        Reads the same effects from the sound that settings give.
    wished : sequence of float
        The effects, dB.
    where : str
        For the message.

    Returns
    -------
    dict of str to float
        The settings whose readings come closest.

    Raises
    ------
    NotReachable
        If they are off by more than 0.05 dB.
    """
    target = np.asarray(wished, dtype=np.float64)
    best: dict[str, float] = {}
    asked, nearest = target.copy(), np.full(target.size, np.inf)
    slope = np.ones(target.size)
    before: tuple[Reading, Reading] | None = None
    for _ in range(RENDERINGS):
        try:
            settings = ask(asked)
        except NotReachable as error:
            if not best:
                raise
            most = float((target + nearest)[0])
            raise NotReachable(f"{where}: amount={target[0]:.2f}, expected about {most:.1f} dB at most") from error
        reading = np.asarray(read(settings), dtype=np.float64)
        miss = reading - target
        if np.abs(miss).max() < np.abs(nearest).max():
            best, nearest = settings, miss
        if np.abs(miss).max() <= CLOSE_DB:
            break
        if before is not None:
            slope = _update(slope, asked - before[0], reading - before[1])
        before = (asked, reading)
        asked = np.maximum(asked - miss / slope, target / 10)
    if np.abs(nearest).max() > FARTHEST_DB:
        raise NotReachable(f"{where}: amount={target[0]:.2f}, expected about {(target + nearest)[0]:.2f} dB")
    return best


def _update(slope: Reading, moved: Reading, changed: Reading) -> Reading:
    """Take the slope from the last two readings where they are far enough apart."""
    far = np.abs(moved) > 1e-4
    found = np.where(far, changed / np.where(far, moved, 1.0), slope)
    return np.asarray(np.where((found > 1 / STEEPEST) & (found < STEEPEST), found, slope))


def refuse_silence(where: str, peak_dbfs: float) -> None:
    """Refuse a loop in which there is nothing to turn down.

    Raises
    ------
    BadValue
        If its highest peak lies below −80 dBFS.
    """
    if peak_dbfs < SOFTEST_PEAK_DBFS:
        raise BadValue(where, "peak_dbfs", f"{peak_dbfs:.0f}", f"sound with peaks above {SOFTEST_PEAK_DBFS:g} dBFS")


def find_near(effect: Callable[[float], float], wished: float, guess: float) -> float:
    """Find where a falling effect is as wished, near a guess, by secants within 60 dB of it; where not, the nearest.

    Parameters
    ----------
    effect : callable
        Falls with its argument: a reduction against a threshold, dB.
    wished : float
        The effect, dB.
    guess : float
        Where to begin.

    Returns
    -------
    float
        The place.
    """
    places, misses = [guess], [effect(guess) - wished]
    step = misses[0]
    for _ in range(SECANTS):
        if abs(misses[-1]) < SECANT_CLOSE_DB:
            break
        place = min(max(places[-1] + min(max(step, -6.0), 6.0), guess - 60.0), guess + 60.0)
        places.append(place)
        misses.append(effect(place) - wished)
        moved, changed = places[-1] - places[-2], misses[-1] - misses[-2]
        step = -misses[-1] * moved / changed if moved * changed < 0 else misses[-1]
    return places[int(np.argmin(np.abs(misses)))]
