"""Probability of a right answer as a function of d', for every way a question is asked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
import numpy.typing as npt
import scipy

from trainer.errors import BadValue

Floats = npt.NDArray[np.float64]

TABLE_STEP = 0.01
"""Spacing of the tabulated curves, in d'; a cubic through them is right to better than 1e-9."""

TABLE_END = 20.0
"""The d' from which every curve equals 1 to double precision."""

NAMES_OF_NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}


@dataclass(frozen=True)
class Link:
    """Tie d' to the probability of a right answer for one task.

    Parameters
    ----------
    guess : float
        Probability of a right answer without hearing anything, 0 to 1.
    curve : callable
        Probability of a right answer for an array of d', each 0 to 20.
    """

    guess: float
    curve: Callable[[Floats], Floats]

    def correct(self, d_prime: npt.ArrayLike) -> Floats:
        """Return the probability of a right answer.

        Parameters
        ----------
        d_prime : array_like, any shape, >= 0
            Sensitivity in standard deviations of the listener's inner noise.

        Returns
        -------
        ndarray, same shape
            Probability, from the guess rate to 1.

        Raises
        ------
        BadValue
            If a d' is negative or not a number.
        """
        wanted = np.asarray(d_prime, dtype=np.float64)
        if not np.all(wanted >= 0.0):
            raise BadValue("link", "d_prime", d_prime, "numbers of 0 or more")
        return self.curve(np.minimum(wanted, TABLE_END))


def link_for(task: str) -> Link:
    """Return the link of a task.

    Parameters
    ----------
    task : str
        One of the names in `LINKS`.

    Returns
    -------
    Link
        Guess rate and curve.

    Raises
    ------
    BadValue
        If no task has this name.
    """
    try:
        return LINKS[task]
    except KeyError:
        raise BadValue("link", "task", task, "one of " + ", ".join(LINKS)) from None


def _pick_of_two(d_prime: Floats) -> Floats:
    """Two intervals, one target: Φ(d'/√2)."""
    return np.asarray(scipy.special.ndtr(d_prime / np.sqrt(2.0)), dtype=np.float64)


def _abx(d_prime: Floats) -> Floats:
    """ABX decided by differences: A or B, whichever lies nearer to X."""
    near, far = d_prime / np.sqrt(2.0), d_prime / np.sqrt(6.0)
    ndtr = scipy.special.ndtr
    return np.asarray(ndtr(near) * ndtr(far) + ndtr(-near) * ndtr(-far), dtype=np.float64)


def _pick_of_many(choices: int, d_prime: Floats) -> Floats:
    """One target among several choices, read from the table."""
    return _evaluate(_many_table(choices), d_prime)


def _oddity(d_prime: Floats) -> Floats:
    """Three intervals, find the different one, read from the table."""
    return _evaluate(_oddity_table(), d_prime)


def _evaluate(table: scipy.interpolate.CubicSpline, d_prime: Floats) -> Floats:
    """Read a table; rounding may not lift a probability above one."""
    return np.minimum(np.asarray(table(d_prime), dtype=np.float64), 1.0)


@cache
def _many_table(choices: int) -> scipy.interpolate.CubicSpline:
    """Integrate φ(z − d') Φ(z)^(m−1) over z, the target's own sensation."""
    z, weights = _quadrature(-9.0, 9.0)
    grid = _table_grid()
    density = weights * np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    return scipy.interpolate.CubicSpline(grid, scipy.special.ndtr(z + grid[:, None]) ** (choices - 1) @ density)


@cache
def _oddity_table() -> scipy.interpolate.CubicSpline:
    """Integrate the triangle formula 2 ∫ [Φ(a − z√3) + Φ(−a − z√3)] φ(z) dz, z > 0, a = d'√(2/3)."""
    z, weights = _quadrature(0.0, 9.0)
    grid = _table_grid()
    shift = grid[:, None] * np.sqrt(2.0 / 3.0)
    reach = z * np.sqrt(3.0)
    density = 2.0 * weights * np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    ndtr = scipy.special.ndtr
    return scipy.interpolate.CubicSpline(grid, (ndtr(shift - reach) + ndtr(-shift - reach)) @ density)


def _table_grid() -> Floats:
    """Return the d' at which curves are tabulated."""
    return np.linspace(0.0, TABLE_END, round(TABLE_END / TABLE_STEP) + 1)


def _quadrature(start: float, end: float) -> tuple[Floats, Floats]:
    """Return Gauss-Legendre nodes and weights between two bounds."""
    nodes, weights = np.polynomial.legendre.leggauss(128)
    half = 0.5 * (end - start)
    return start + half * (nodes + 1.0), half * weights


LINKS: Mapping[str, Link] = {
    "pick_of_two": Link(1.0 / 2.0, _pick_of_two),
    **{
        f"pick_of_{NAMES_OF_NUMBERS[choices]}": Link(1.0 / choices, partial(_pick_of_many, choices))
        for choices in range(3, 9)
    },
    "abx": Link(1.0 / 2.0, _abx),
    "oddity": Link(1.0 / 3.0, _oddity),
}
"""Every task by name.

Formulas: Macmillan & Creelman, Detection Theory: A User's Guide (2nd ed. 2005), chapters 7, 9 and 10,
and for the triangle Frijters, Brit. J. Math. Stat. Psychol. 32 (1979); both from memory and checked
numerically by the tests.
"""
