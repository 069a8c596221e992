"""Choose the amount to ask next."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy

from trainer.listening.links import link_for
from trainer.listening.scale import LAPSES, Scale, attentive_correct_at_levels, levels

Floats = npt.NDArray[np.float64]

EASIEST_CORRECT = 0.85
HARDEST_CORRECT = 0.70


def choose_amount(scale: Scale, posterior: Floats, task: str) -> float:
    """Return the amount whose answer will say most about the threshold.

    Parameters
    ----------
    scale : Scale
        The skill's amounts.
    posterior : ndarray, shape (81, 7, 4)
        Probability of each threshold, slope and lapse rate.
    task : str
        One of the names in `trainer.listening.links.LINKS`.

    Returns
    -------
    float
        One of the scale's levels, in the skill's unit. Among those that are expected to be answered
        right in 70 to 85 % of cases it leaves the least expected entropy of the threshold alone;
        when there is none, it is the level that comes nearest to that band.

    Notes
    -----
    Kontsevich & Tyler, Vision Research 39 (1999) choose by expected entropy; Prins, J. Vision 12 (2012)
    leaves slope and lapse out of it, for a procedure that chases the lapse rate asks too many trivial
    questions. Both from memory.
    """
    right = threshold_and_right(scale, posterior, task)
    expected_correct = right.sum(axis=1)
    outside = np.maximum(HARDEST_CORRECT - expected_correct, expected_correct - EASIEST_CORRECT)
    inside = outside <= 0.0
    if not inside.any():
        return float(levels(scale)[np.argmin(outside)])
    entropy = expected_entropy(right, posterior.sum(axis=(1, 2)))
    return float(levels(scale)[np.argmin(np.where(inside, entropy, np.inf))])


def threshold_and_right(scale: Scale, posterior: Floats, task: str) -> Floats:
    """Return the joint probability of each threshold and a right answer, per level.

    Parameters
    ----------
    scale, posterior, task
        As in `choose_amount`.

    Returns
    -------
    ndarray, shape (41, 81)
        Its sum over thresholds is the expected probability of a right answer.
    """
    attentive = attentive_correct_at_levels(scale, task)
    attending = posterior @ (1.0 - LAPSES)
    lapsing = (posterior @ LAPSES).sum(axis=1)
    heard = np.einsum("ltb,tb->lt", attentive, attending)
    return np.asarray(heard + link_for(task).guess * lapsing, dtype=np.float64)


def expected_entropy(right: Floats, marginal: Floats) -> Floats:
    """Return the entropy of the threshold expected after one more answer, per level.

    Parameters
    ----------
    right : ndarray, shape (levels, thresholds)
        Joint probability of threshold and a right answer.
    marginal : ndarray, shape (thresholds,)
        Probability of each threshold now.

    Returns
    -------
    ndarray, shape (levels,)
        Entropy in nats.
    """
    wrong = np.maximum(marginal - right, 0.0)
    total = np.zeros(len(right))
    for joint in (right, wrong):
        total += scipy.special.entr(joint).sum(axis=1) - scipy.special.entr(joint.sum(axis=1))
    return total
