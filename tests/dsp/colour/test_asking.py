"""Asking for an effect: closed forms of growing functions, in few trials."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from trainer.dsp.colour.asking import find_growing, refuse_amount
from trainer.errors import BadValue

GROWING: dict[str, Callable[[float], float]] = {
    "line": lambda x: 3 * x,
    "cube": lambda x: x**3,
    "saturating": lambda x: math.tanh(x),
    "nothing at first": lambda x: max(0.0, x - 0.5),
    "steps": lambda x: x * (1 + 0.3 * math.sin(3 * math.log(x))),
}


@pytest.mark.parametrize("name", sorted(GROWING))
@pytest.mark.parametrize("start", [1e-3, 0.7, 90.0])
def test_the_setting_that_gives_an_effect_is_found(name: str, start: float) -> None:
    """By construction: the effect at a known setting is asked for, and the setting comes back."""
    tried: list[float] = []

    def effect_of(setting: float) -> float:
        tried.append(setting)
        return GROWING[name](setting)

    wanted = GROWING[name](0.9)
    setting, effect = find_growing(effect_of, wanted, 1e-3, 100.0, start, 1e-6)
    assert effect == pytest.approx(wanted, rel=2e-6)
    assert setting == pytest.approx(0.9, rel=1e-4)
    assert len(tried) <= 40 and tried[-1] == pytest.approx(setting)


def test_too_much_gives_the_most() -> None:
    """Contract of the docstring."""
    setting, effect = find_growing(math.tanh, 2.0, 1e-3, 10.0, 1.0, 1e-3)
    assert setting == pytest.approx(10.0) and effect == pytest.approx(math.tanh(10.0))


@pytest.mark.parametrize("amount", [-1.0, math.nan, math.inf])
def test_no_amount_is_refused(amount: float) -> None:
    """House rule for errors."""
    with pytest.raises(BadValue):
        refuse_amount("a move", amount, "dB")
