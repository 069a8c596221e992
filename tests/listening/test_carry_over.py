"""What is still known after days away."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.errors import BadValue
from trainer.listening.scale import LAPSE_WEIGHTS, slope_prior, threshold_grid
from trainer.listening.threshold import Scale, Track

FINE = Scale(low=0.1, high=10.0, prior_median=1.0, amount_low=0.1, amount_high=10.0)


def _certain(threshold_index: int = 40) -> Track:
    """Return a track that is sure of one threshold, slope and lapse rate."""
    posterior = np.zeros((81, 7, 4))
    posterior[threshold_index, 3, 1] = 1.0
    return Track(FINE, posterior)


def _spread_log10(track: Track) -> float:
    position, weight = np.log10(threshold_grid(FINE)), track.threshold_probability()
    return float(np.sqrt(weight @ position**2 - (weight @ position) ** 2))


@pytest.mark.parametrize("days", [1, 5, 30])
def test_widens_by_the_stated_variance(days: int) -> None:
    """The variance of a mixture: 0.95 (0.05² + 0.04² days) + 0.05 · 0.30², in log10."""
    variance = 0.95 * (0.05**2 + 0.04**2 * days) + 0.05 * 0.30**2
    assert _spread_log10(_certain().after_days(days)) == pytest.approx(np.sqrt(variance), rel=0.01)


def test_a_threshold_at_the_end_of_the_grid_keeps_its_share() -> None:
    """Two thresholds far apart, equally likely, stay equally likely, though one cannot move outwards."""
    both = Track(FINE, 0.5 * (_certain(0).posterior + _certain(50).posterior)).after_days(1)
    ends = 0.5 * (_certain(0).after_days(1).posterior + _certain(50).after_days(1).posterior)
    np.testing.assert_allclose(both.posterior, ends, atol=1e-12)


def test_thirty_days_are_the_most() -> None:
    """A longer absence is worth a month."""
    month, years = _certain().after_days(30), _certain().after_days(1000)
    np.testing.assert_array_equal(month.posterior, years.posterior)


def test_slope_and_lapse_go_a_tenth_of_the_way_back() -> None:
    """Each marginal is 0.9 of what it was and 0.1 of its prior."""
    posterior = _certain().after_days(1).posterior
    slopes, lapses = np.eye(7)[3], np.eye(4)[1]
    np.testing.assert_allclose(posterior.sum(axis=(0, 2)), 0.9 * slopes + 0.1 * slope_prior(), atol=1e-12)
    np.testing.assert_allclose(posterior.sum(axis=(0, 1)), 0.9 * lapses + 0.1 * LAPSE_WEIGHTS, atol=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 80), st.integers(1, 90))
def test_keeps_all_probability_and_never_narrows(index: int, days: int) -> None:
    """Nothing leaks over an end of the grid, and nobody becomes surer by staying away."""
    before, after = _certain(index), _certain(index).after_days(days)
    assert after.posterior.sum() == pytest.approx(1.0, abs=1e-12)
    assert after.estimate().half_width_ratio > before.estimate().half_width_ratio


def test_widens_what_was_learnt_from_answers() -> None:
    """The longer away, the wider; the same day changes nothing."""
    track = Track.begin(FINE)
    for index in range(40):
        track = track.after(track.next_amount("pick_of_three"), index % 4 > 0, "pick_of_three")
    widths = [track.after_days(days).estimate().half_width_ratio for days in (0, 1, 7, 30)]
    assert widths == sorted(set(widths))
    assert track.after_days(0) is track
    assert track.after_days(7).trials == 40


def test_refuses_days_that_run_backwards() -> None:
    """Time does not run backwards."""
    with pytest.raises(BadValue, match="days=-1"):
        _certain().after_days(-1)
