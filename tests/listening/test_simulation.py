"""The engine on listeners whose thresholds are known."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.errors import BadValue
from trainer.listening.listener import Listener
from trainer.listening.simulation import Simulated, simulate, summarise
from trainer.listening.threshold import Scale

SCALE = Scale(low=0.06, high=12.0, prior_median=1.5, amount_low=0.06, amount_high=12.0)


@pytest.mark.parametrize("threshold", [0.7, 3.0])
def test_finds_the_threshold_of_drawn_sensations_on_the_first_day(threshold: float) -> None:
    """120 listeners, 30 trials of three intervals; they answer from drawn sensations, not by the links."""
    rng = np.random.default_rng(1234)
    found = summarise(
        [simulate(SCALE, "pick_of_three", Listener(threshold), 30, 1, rng) for _ in range(120)], threshold
    )
    assert abs(found.bias_log10) <= 0.05
    assert found.sd_log10 <= 0.12
    assert found.within_20_percent >= 0.55
    assert found.coverage_95 >= 0.90
    assert 0.70 <= found.fraction_correct_median <= 0.90


def test_more_days_find_it_closer() -> None:
    """Three days of 25 trials beat the first, and their interval narrows."""
    rng = np.random.default_rng(77)
    first = [simulate(SCALE, "pick_of_two", Listener(1.0), 25, 1, rng) for _ in range(30)]
    third = [simulate(SCALE, "pick_of_two", Listener(1.0), 25, 3, rng) for _ in range(30)]
    assert summarise(third, 1.0).sd_log10 < summarise(first, 1.0).sd_log10
    assert np.median([f.high / f.low for f in third]) < np.median([f.high / f.low for f in first])
    assert third[0].trials == 75


def test_summary_of_figures_worked_out_by_hand() -> None:
    """Errors of 0, +log10 2 and −log10 2 about a threshold of 1: mean 0, SD log10 2, one of three near."""
    results = [
        Simulated(1.0, 0.8, 1.2, 0.70, 30),
        Simulated(2.0, 0.9, 3.0, 0.80, 30),
        Simulated(0.5, 0.3, 0.8, 0.90, 30),
    ]
    found = summarise(results, 1.0)
    assert found.bias_log10 == pytest.approx(0.0, abs=1e-12)
    assert found.sd_log10 == pytest.approx(np.log10(2.0))
    assert found.within_20_percent == pytest.approx(1 / 3)
    assert found.coverage_95 == pytest.approx(2 / 3)
    assert found.fraction_correct_median == pytest.approx(0.80)
    assert summarise(results[:1], 1.0).sd_log10 == 0.0


def test_refuses_nothing_to_do() -> None:
    """No trials, no days, no listeners, no threshold."""
    rng = np.random.default_rng(0)
    for trials, days in ((0, 1), (1, 0)):
        with pytest.raises(BadValue, match="expected 1 or more"):
            simulate(SCALE, "abx", Listener(1.0), trials, days, rng)
    with pytest.raises(BadValue, match="results=none"):
        summarise([], 1.0)
    with pytest.raises(BadValue, match="threshold=0"):
        summarise([Simulated(1.0, 0.8, 1.2, 0.7, 30)], 0.0)
