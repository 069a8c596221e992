"""Simulated listeners."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from trainer.errors import BadValue
from trainer.listening.links import LINKS
from trainer.listening.listener import CHOICES, Listener


def _share(listener: Listener, amount: float, task: str, trials: int = 5000) -> float:
    rng = np.random.default_rng(8)
    return float(np.mean([listener.answer(amount, task, rng) for _ in range(trials)]))


def test_knows_every_task_of_the_engine() -> None:
    """A task that cannot be simulated cannot be checked."""
    assert set(CHOICES) == set(LINKS)


@pytest.mark.parametrize("amount", [0.5, 1.0, 2.0])
def test_hears_as_its_threshold_and_slope_say(amount: float) -> None:
    """Two intervals: Φ(d'/√2), d' = 1.5 (amount/threshold)^slope; four standard errors of 5000 trials."""
    expected = norm.cdf(1.5 * (amount / 1.3) ** 1.8 / np.sqrt(2))
    found = _share(Listener(threshold=1.3, slope=1.8, lapse=0.0), amount, "pick_of_two")
    assert found == pytest.approx(expected, abs=4 * np.sqrt(expected * (1 - expected) / 5000))


@pytest.mark.parametrize("task", sorted(CHOICES))
def test_guesses_when_not_listening(task: str) -> None:
    """One button of m: 1/m, whatever is asked."""
    chance = 1.0 / CHOICES[task]
    found = _share(Listener(threshold=0.01, lapse=1.0), 100.0, task)
    assert found == pytest.approx(chance, abs=4 * np.sqrt(chance * (1 - chance) / 5000))


@pytest.mark.parametrize("task", sorted(CHOICES))
def test_is_always_right_when_all_is_plain(task: str) -> None:
    """An ideal listener with a large difference scores in full."""
    assert _share(Listener(threshold=0.01, lapse=0.0), 100.0, task, trials=200) == 1.0


def test_repeats_itself_from_the_same_seed() -> None:
    """All chance comes from the generator that is handed in."""
    runs = []
    for _ in range(2):
        rng = np.random.default_rng(1)
        runs.append([Listener(1.0).answer(1.0, "oddity", rng) for _ in range(50)])
    assert runs[0] == runs[1] and set(runs[0]) == {True, False}


@pytest.mark.parametrize(
    ("threshold", "slope", "lapse"),
    [(0.0, 1.3, 0.02), (1.0, -1.0, 0.02), (1.0, 1.3, 1.5), (float("nan"), 1.3, 0.0)],
)
def test_refuses_ears_that_cannot_be(threshold: float, slope: float, lapse: float) -> None:
    """Thresholds and slopes are positive, lapse rates are shares."""
    with pytest.raises(BadValue, match="listener: "):
        Listener(threshold, slope, lapse)


def test_refuses_what_cannot_be_asked() -> None:
    """Neither a task without a name nor an amount of nothing."""
    rng = np.random.default_rng(0)
    with pytest.raises(BadValue, match="task=yes_no"):
        Listener(1.0).answer(1.0, "yes_no", rng)
    with pytest.raises(BadValue, match="amount=0"):
        Listener(1.0).answer(0.0, "abx", rng)
