"""The solver's parts on functions whose roots are known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trainer.dsp.dynamics.solving import check_amount, find_first, find_near, put_right, refuse_silence
from trainer.errors import BadValue, NotReachable


def test_the_first_crossing_is_found() -> None:
    """Closed form: a sine reaches a half first at a sixth of π, not where it comes down again; 2 is never reached."""
    grid = np.linspace(0, 3, 13).tolist()
    assert find_first(math.sin, 0.5, grid, "here") == pytest.approx(math.pi / 6, abs=1e-4)
    assert find_first(math.sin, -1.0, grid, "here") == 0
    with pytest.raises(NotReachable, match=r"here: amount=2\.00, expected at most 1\.0 dB"):
        find_first(math.sin, 2.0, grid, "here")


def test_secants_find_a_falling_effect() -> None:
    """Closed form: 6 − x is 2 at 4; a steeper one and a bent one likewise; what never gets there gives the nearest."""
    assert find_near(lambda x: 6 - x, 2.0, 0.0) == pytest.approx(4.0, abs=1e-3)
    assert find_near(lambda x: max(0.0, 5 - 3 * x), 2.0, 5.0) == pytest.approx(1.0, abs=1e-3)
    assert find_near(lambda x: math.exp(-x / 10), 0.5, 0.0) == pytest.approx(10 * math.log(2), abs=0.02)
    assert math.isfinite(find_near(lambda x: 1.0, 2.0, 0.0))


def test_a_coarse_guess_is_put_right() -> None:
    """By construction: readings 20 % below, and an offset above, what was asked for, the two bound together."""
    asked: list[np.ndarray] = []

    def ask(wished: np.ndarray) -> dict[str, float]:
        asked.append(wished)
        return {"a": float(wished[0]), "b": float(wished[1])}

    def read(settings: dict[str, float]) -> tuple[float, float]:
        return (0.8 * settings["a"] + 0.05 * settings["b"], settings["b"] + 0.3)

    found = put_right(ask, read, (3.0, 5.0), "here")
    assert read(found) == pytest.approx((3.0, 5.0), abs=0.002)
    assert len(asked) <= 6


def test_what_cannot_be_put_right_is_said() -> None:
    """By construction: a reading that stays where it is, and a guess that ends."""
    with pytest.raises(NotReachable, match=r"amount=3\.00, expected about 1\.00"):
        put_right(lambda wished: {"a": float(wished[0])}, lambda settings: (1.0,), (3.0,), "here")

    def ask(wished: np.ndarray) -> dict[str, float]:
        if wished[0] > 3.5:
            raise NotReachable("coarse")
        return {"a": float(wished[0])}

    with pytest.raises(NotReachable, match=r"amount=3\.00, expected about 1\.5 dB at most"):
        put_right(ask, lambda settings: (settings["a"] / 2,), (3.0,), "here")
    with pytest.raises(NotReachable, match="coarse"):
        put_right(ask, lambda settings: (1.0,), (9.0,), "here")


def test_amounts_and_silence_are_refused() -> None:
    """Contract of the docstrings."""
    check_amount("here", 0.0)
    for amount in (float("nan"), float("inf"), -0.1):
        with pytest.raises(BadValue, match="here: amount"):
            check_amount("here", amount)
    refuse_silence("here", -79.0)
    with pytest.raises(BadValue, match="here: peak_dbfs"):
        refuse_silence("here", -81.0)
