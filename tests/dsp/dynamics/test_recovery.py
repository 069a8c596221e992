"""Closed-form recoveries against step-by-step loops."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from trainer.dsp.dynamics.recovery import decay_coefficient, decaying_maximum, hold_and_release

Trace = npt.NDArray[np.float64]


def _traces() -> list[Trace]:
    rng = np.random.default_rng(1)
    steps = 20000
    needs = np.maximum(rng.normal(-6, 6, steps), 0.0)
    bursts = np.repeat(np.maximum(rng.normal(-3, 6, 200), 0.0), 100)
    pulses = np.zeros(steps)
    pulses[rng.integers(0, steps, 20)] = rng.uniform(0, 30, 20)
    return [needs, bursts, pulses, np.zeros(100), np.full(100, 12.0), np.array([5.0]), 1e-9 * needs]


def _release_by_steps(wished: Trace, a: float) -> Trace:
    """Follow the smooth decoupled peak detector of Giannoulis, Massberg and Reiss, value by value."""
    followed, last = np.empty_like(wished), 0.0
    for n, value in enumerate(wished):
        last = max(value, a * last + (1 - a) * value)
        followed[n] = last
    return followed


def _decay_by_steps(values: Trace, factor: float) -> Trace:
    followed, last = np.empty_like(values), 0.0
    for n, value in enumerate(values):
        last = max(value, factor * last)
        followed[n] = last
    return followed


@pytest.mark.parametrize("release_s", [0.005, 0.06, 1.0])
@pytest.mark.parametrize("trace", _traces())
def test_hold_and_release_is_the_recursion(trace: Trace, release_s: float) -> None:
    """D. Giannoulis, M. Massberg, J. D. Reiss, JAES 60(6), 2012, smooth decoupled detector, value by value: 1e-9 dB."""
    step_s = 8 / 48000
    wished = _release_by_steps(trace, np.exp(-step_s / release_s))
    np.testing.assert_allclose(hold_and_release(trace, release_s, step_s), wished, atol=1e-9)


@pytest.mark.parametrize("factor", [0.5, 0.97, 0.9999])
@pytest.mark.parametrize("trace", _traces())
def test_decaying_maximum_is_the_recursion(trace: Trace, factor: float) -> None:
    """The recursion of the docstring, value by value: 1e-9."""
    np.testing.assert_allclose(decaying_maximum(trace, factor), _decay_by_steps(trace, factor), atol=1e-9)


def test_it_falls_to_37_percent_in_its_time() -> None:
    """Definition of a time constant: 1/e is left after it."""
    trace = np.zeros(6001)
    trace[0] = 10.0
    followed = hold_and_release(trace, 0.1, 1 / 6000)
    assert followed[0] == 10.0
    assert followed[600] == pytest.approx(10 / np.e, rel=1e-9)
    assert decay_coefficient(0.1, 1 / 6000) ** 600 == pytest.approx(1 / np.e, rel=1e-9)


def test_it_never_falls_below_what_is_wished() -> None:
    """A limiter that undershoots its need would pass the ceiling."""
    for trace in _traces():
        assert (hold_and_release(trace, 0.06, 8 / 48000) >= trace - 1e-9).all()
