"""How a wished reduction becomes the one that is made: attack, release, and a slow release that depends on the past."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.dsp.dynamics.compression import SHORTEST_TIME_S, SLOW_AVERAGE_S, Ballistics
from trainer.dsp.dynamics.recovery import Trace, decay_coefficient, decaying_maximum

# The slow path works on means over so many frames.
SLOW_STEP_FRAMES = 16
# A slow release below this is none.
SHORTEST_SLOW_RELEASE_S = 0.01
# dB. Too little to move any gain off 1, and far from the smallest numbers, with which filters run slowly.
NEGLIGIBLE = 1e-200
# exp(600) times any reduction is still a number.
MOST_NEPERS = 600.0


class OnePole:
    """Run ``y[n] = a y[n−1] + (1 − a) x[n]`` with its state kept, from 0."""

    def __init__(self, time_s: float, step_s: float) -> None:
        a = decay_coefficient(max(time_s, SHORTEST_TIME_S), step_s)
        self._numerator, self._denominator = np.array([1 - a]), np.array([1.0, -a])
        self._state = np.zeros(1)

    def process(self, values: Trace) -> Trace:
        """Smooth the next values."""
        smooth, self._state = scipy.signal.lfilter(self._numerator, self._denominator, values, zi=self._state)
        return np.asarray(smooth)


class Release:
    """Run ``y[n] = max(g[n], a y[n−1] + (1 − a) g[n])`` with its state kept, from 0.

    In closed form: y is the plain one-pole L of g plus a decaying maximum of g − L. Both are a running sum and a
    running maximum of values that are multiplied by ``a**−n`` beforehand and by ``a**n`` afterwards. Stretches are
    kept so short that these powers stay within what a number can hold.
    """

    def __init__(self, release_s: float, step_s: float) -> None:
        self._fall = step_s / max(release_s, SHORTEST_TIME_S)
        self._factor = float(np.exp(-self._fall))
        self._rise = self._back = np.ones(0)
        self._plain = self._above = 0.0

    def hold(self, wished: Trace, average: Trace | None = None) -> None:
        """Take the place of the next wishes, 0 or more; ``average`` feeds the one-pole where they are not means."""
        longest = max(1, int(MOST_NEPERS / self._fall))
        for start in range(0, wished.size, longest):
            part = slice(start, start + longest)
            self._hold_part(wished[part], None if average is None else average[part])

    def _hold_part(self, wished: Trace, average: Trace | None) -> None:
        count, a = wished.size, self._factor
        if self._rise.size < count:
            self._rise = np.exp(self._fall * np.arange(count))
            self._back = 1 / self._rise
        rise, back = self._rise[:count], self._back[:count]
        wished *= rise
        plain = np.cumsum(wished if average is None else average * rise)
        plain *= 1 - a
        plain += a * self._plain
        above = np.subtract(wished, plain, out=wished)
        above[0] = max(above[0], a * self._above)
        np.maximum.accumulate(above, out=above)
        self._plain, self._above = float(plain[-1] * back[-1]), float(above[-1] * back[-1])
        above += plain
        above *= back
        np.maximum(above, NEGLIGIBLE, out=above)


class ReductionFollower:
    """Follow a wished reduction, stretch after stretch.

    It rises at once and falls with the release; where asked for, it never falls below a slow path: the decay of a
    300 ms average of the fast one. So what was reduced for a moment comes back soon, and what was reduced for
    seconds comes back slowly. Last it is smoothed with the attack.

    Parameters
    ----------
    ballistics : Ballistics
        Attack, release, slow release.
    step_s : float
        Time from value to value, s.
    slow_step : int
        Values to one of the slow path.

    Notes
    -----
    The smooth decoupled peak detector of D. Giannoulis, M. Massberg, J. D. Reiss, J. Audio Eng. Soc. 60(6), 2012, in
    closed form (`recovery.hold_and_release`), which equals the recursion to rounding: with L the plain one-pole of
    the wish, what lies above L is a decaying maximum, so two numbers carry the state from block to block.
    """

    def __init__(self, ballistics: Ballistics, step_s: float, slow_step: int = SLOW_STEP_FRAMES) -> None:
        self._release = Release(ballistics.release_s, step_s)
        self._slow = (
            _SlowPath(ballistics.slow_release_s, step_s, slow_step)
            if ballistics.slow_release_s >= SHORTEST_SLOW_RELEASE_S
            else None
        )
        self._attack = OnePole(ballistics.attack_s, step_s)

    def follow(self, wished: Trace, average: Trace | None = None) -> Trace:
        """Follow the next values.

        Parameters
        ----------
        wished : ndarray, shape (n,), n of 1 or more
            Wished reduction, dB, 0 or more. Where one value stands for several frames: the largest of them.
            They are used up: the array is worked in.
        average : ndarray, shape (n,)
            Their mean, if one value stands for several frames.

        Returns
        -------
        ndarray, shape (n,)
            Reduction, dB.
        """
        self._release.hold(wished, average)
        if self._slow is not None:
            self._slow.lift(wished)
        return self._attack.process(wished)


class _SlowPath:
    """Keep what has been held down for long from coming back at once."""

    def __init__(self, release_s: float, step_s: float, slow_step: int) -> None:
        self._step = slow_step
        self._average = OnePole(SLOW_AVERAGE_S, step_s * slow_step)
        self._factor = decay_coefficient(release_s, step_s * slow_step)
        self._begun: npt.NDArray[np.float64] = np.zeros(0)
        self._last = 0.0

    def lift(self, fast: Trace) -> None:
        """Raise a stretch of the fast path, in place, to the slow one as it stood after the last whole step."""
        begun = self._begun.size
        joined = np.concatenate([self._begun, fast]) if begun else fast
        whole = joined.size // self._step
        kept, self._begun = joined[: whole * self._step], joined[whole * self._step :].copy()
        levels = np.array([self._last])
        if whole:
            # A product with a constant vector is the quickest mean of short rows.
            means = kept.reshape(whole, self._step) @ np.full(self._step, 1 / self._step)
            levels = decaying_maximum(np.append(levels, self._average.process(means)), self._factor)
            self._last = float(levels[-1])
        if not begun and kept.size == fast.size:
            rows = fast.reshape(whole, self._step)
            np.maximum(rows, levels[:-1, None], out=rows)
        else:
            np.maximum(fast, np.repeat(levels, self._step)[begun : begun + fast.size], out=fast)
