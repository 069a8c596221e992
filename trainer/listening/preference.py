"""Preference among two to eight versions: what to ask, how strong each one is, and whether one may be called best."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.errors import BadValue
from trainer.listening.statistics import odds_two_sided

Matrix = NDArray[np.float64]
FEWEST, MOST = 2, 8
PRIOR_SD = 1.5  # natural-log units: nine in ten versions within about 12:1 of an average one
BEST_NEEDED, JUDGED_NEEDED = 0.90, 3
PICKS, PICKS_NEEDED, ROUNDS_MOST = 12, 10, 2
HIDDEN_REPEATS = 5
_DRAWS = 8000


@dataclass(frozen=True)
class Pair:
    """Two versions to compare, by index; ``repeat`` marks a hidden repeat, its sides swapped."""

    left: int
    right: int
    repeat: bool = False


@dataclass(frozen=True)
class Choice:
    """An answered pair; ``picked`` is the version's index, or None for no preference."""

    pair: Pair
    picked: int | None


@dataclass(frozen=True)
class Strengths:
    """Log-strengths (mean 0; version i beats j with odds exp(si − sj)) and each version's probability of being best."""

    log_strengths: tuple[float, ...]
    best: tuple[float, ...]

    @property
    def order(self) -> tuple[int, ...]:
        """Give the versions' indices, strongest first; equals stay in index order."""
        return tuple(sorted(range(len(self.log_strengths)), key=lambda i: -self.log_strengths[i]))


@dataclass(frozen=True)
class Verdict:
    """The favourite, or None for no clear favourite; the two leaders and how often they met."""

    favourite: int | None
    leaders: tuple[int, int]
    judged: float
    strengths: Strengths


@dataclass(frozen=True)
class RoundsVerdict:
    """Outcome of rounds of 12 picks between two versions.

    ``kept`` is version 0 or 1, or None; ``odds`` are the last round's, two-sided; ``odds_overall`` allows
    for having had more than one round to reach them; ``another`` says that a further round may be played.
    """

    kept: int | None
    odds: float
    odds_overall: float
    another: bool


def draw_round(versions: int, rng: np.random.Generator) -> tuple[Pair, ...]:
    """Draw a round of pairs in random order and on random sides, every pair once.

    Parameters
    ----------
    versions : int, 2 to 8
        Versions on trial.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    tuple of Pair
        For two versions 12 picks, each version six times on the left. Among the pairs of three and more, five hidden
        repeats are mixed in, sides swapped, never right after the same pair.
    """
    _check_versions(versions)
    if versions == 2:
        return tuple(Pair(int(side), 1 - int(side)) for side in rng.permutation(np.arange(PICKS) % 2))
    pairs = [pair if rng.random() < 0.5 else pair[::-1] for pair in combinations(range(versions), 2)]
    asked = [Pair(*pairs[k]) for k in rng.permutation(len(pairs))]
    for _ in range(HIDDEN_REPEATS):
        _insert_repeat(asked, rng)
    return tuple(asked)


def count_wins(choices: Iterable[Choice], versions: int) -> Matrix:
    """Count how often each version was picked over each other one.

    Parameters
    ----------
    choices : iterable of Choice
        Answers, hidden repeats included.
    versions : int, 2 to 8
        Versions on trial.

    Returns
    -------
    numpy.ndarray, shape (versions, versions)
        Entry [i, j] counts picks of i over j; no preference gives half a win to both.

    Raises
    ------
    BadValue
        If a choice names a version that is not on trial or not in its pair.
    """
    _check_versions(versions)
    wins = np.zeros((versions, versions))
    for choice in choices:
        a, b = choice.pair.left, choice.pair.right
        if a == b or not (0 <= a < versions and 0 <= b < versions) or choice.picked not in (a, b, None):
            raise BadValue("preference", "choice", choice, f"two different versions of 0 to {versions - 1}, one picked")
        share = 0.5 if choice.picked is None else float(choice.picked == a)
        wins[a, b] += share
        wins[b, a] += 1.0 - share
    return wins


def estimate_strengths(wins: ArrayLike, rng: np.random.Generator, prior_sd: float = PRIOR_SD) -> Strengths:
    """Estimate Bradley–Terry strengths and each version's probability of being the best.

    Parameters
    ----------
    wins : array_like, shape (n, n), n 2 to 8
        Entry [i, j] counts picks of i over j, 0 or more; ties as half wins; diagonal 0.
    rng : numpy.random.Generator
        Draws from the posterior; the same seed gives the same figures.
    prior_sd : float, natural-log units, 0.1 to 1000
        Spread of the normal prior that keeps a version that always won finite.

    Returns
    -------
    Strengths
        Posterior mode, and the share of 8000 draws of the normal (Laplace) approximation that each version leads.

    Raises
    ------
    BadValue
        If the matrix or the spread is out of bounds.

    Notes
    -----
    Model: R. A. Bradley and M. E. Terry, "Rank analysis of incomplete block designs: I. The method of paired
    comparisons", Biometrika 39 (1952) 324–345.
    """
    table = _check_wins(wins)
    if not 0.1 <= prior_sd <= 1000.0:
        raise BadValue("preference", "prior_sd", prior_sd, "0.1 to 1000")
    mode, curvature = _find_mode(table, prior_sd)
    # If the curvature is L Lᵀ, L⁻ᵀ z has its inverse as covariance.
    noise = np.linalg.solve(np.linalg.cholesky(curvature).T, rng.standard_normal((len(table), _DRAWS)))
    leads = np.bincount(np.argmax(mode[:, None] + noise, axis=0), minlength=len(table)) / _DRAWS
    return Strengths(tuple(map(float, mode)), tuple(map(float, leads)))


def judge_versions(wins: ArrayLike, rng: np.random.Generator, prior_sd: float = PRIOR_SD) -> Verdict:
    """Name a favourite only if it is best with 90 % probability and the two leaders met three times.

    Parameters
    ----------
    wins, rng, prior_sd
        As for `estimate_strengths`.

    Returns
    -------
    Verdict
        ``favourite`` is None when there is no clear one.

    Raises
    ------
    BadValue
        If the matrix or the spread is out of bounds.
    """
    table = _check_wins(wins)
    strengths = estimate_strengths(table, rng, prior_sd)
    first, second = strengths.order[:2]
    judged = float(table[first, second] + table[second, first])
    clear = strengths.best[first] >= BEST_NEEDED and judged >= JUDGED_NEEDED
    return Verdict(first if clear else None, (first, second), judged, strengths)


def judge_rounds(picks_of_first: Sequence[int]) -> RoundsVerdict:
    """Judge one or two finished rounds of 12 picks between two versions.

    Parameters
    ----------
    picks_of_first : sequence of int, one or two counts of 0 to 12
        How often version 0 was picked in each round.

    Returns
    -------
    RoundsVerdict
        The version picked 10 times or more in the last round is kept; an undecided first round allows a second.

    Raises
    ------
    BadValue
        If there are no rounds, more than two, a count out of bounds, or a round after the decision.
    """
    rounds = len(picks_of_first)
    if not 1 <= rounds <= ROUNDS_MOST or any(not 0 <= count <= PICKS for count in picks_of_first):
        raise BadValue("preference", "picks_of_first", tuple(picks_of_first), f"one or two counts of 0 to {PICKS}")
    kept = [_find_kept(count) for count in picks_of_first]
    if any(version is not None for version in kept[:-1]):
        raise BadValue("preference", "picks_of_first", tuple(picks_of_first), "no round after one that decided")
    odds = odds_two_sided(picks_of_first[-1], PICKS)
    return RoundsVerdict(kept[-1], odds, 1.0 - (1.0 - odds) ** rounds, kept[-1] is None and rounds < ROUNDS_MOST)


def _find_kept(picks_of_first: int) -> int | None:
    """Return the version picked often enough in a round."""
    if picks_of_first >= PICKS_NEEDED:
        return 0
    return 1 if PICKS - picks_of_first >= PICKS_NEEDED else None


def _insert_repeat(asked: list[Pair], rng: np.random.Generator) -> None:
    """Put the least repeated pair in once more, later, with something else in between."""
    last = {frozenset((pair.left, pair.right)): k for k, pair in enumerate(asked)}
    times = {key: sum({pair.left, pair.right} == key for pair in asked) for key in last}
    free = [key for key, k in last.items() if k < len(asked) - 1]
    fewest = min(times[key] for key in free)
    rarest = [key for key in free if times[key] == fewest]
    before = last[rarest[int(rng.integers(len(rarest)))]]
    twin = Pair(asked[before].right, asked[before].left, repeat=True)
    asked.insert(int(rng.integers(before + 2, len(asked) + 1)), twin)


def _find_mode(wins: Matrix, prior_sd: float) -> tuple[Matrix, Matrix]:
    """Climb the log posterior by Newton's method; return its top and the curvature there."""
    met, size = wins + wins.T, len(wins)
    mode = np.zeros(size)
    while True:
        chance = 1.0 / (1.0 + np.exp(mode[None, :] - mode[:, None]))
        slope = (wins - met * chance).sum(axis=1) - mode / prior_sd**2
        weight = met * chance * chance.T
        curvature = np.diag(weight.sum(axis=1) + prior_sd**-2) - weight
        step = np.linalg.solve(curvature, slope)
        # Differences moved by 1 at most keep every step uphill: the curvature changes less than e-fold on the way.
        reach = float(np.ptp(step))
        mode = mode + step / max(1.0, reach)
        if reach < 1e-7:
            return mode - mode.mean(), curvature


def _check_versions(versions: int) -> None:
    """Refuse too few or too many versions."""
    if not FEWEST <= versions <= MOST:
        raise BadValue("preference", "versions", versions, f"{FEWEST} to {MOST}")


def _check_wins(wins: ArrayLike) -> Matrix:
    """Return the matrix of wins, or refuse it."""
    table = np.asarray(wins, dtype=np.float64)
    if table.ndim != 2 or table.shape[0] != table.shape[1]:
        raise BadValue("preference", "wins", table.shape, "a square matrix")
    _check_versions(len(table))
    if not np.all(np.isfinite(table)) or np.any(table < 0.0) or np.any(np.diag(table) != 0.0):
        raise BadValue("preference", "wins", table.tolist(), "counts of 0 or more, 0 on the diagonal")
    return table
