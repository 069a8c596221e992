"""Links between d' and right answers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import ncf, norm

from trainer.errors import BadValue
from trainer.listening.links import LINKS, link_for
from trainer.listening.listener import CHOICES, Listener

D_PRIMES = (0.5, 1.0, 1.5, 2.0, 3.0)


@pytest.mark.parametrize(
    ("task", "printed"),
    [
        ("pick_of_two", (0.64, 0.76, 0.86, 0.92, 0.98)),
        ("pick_of_three", (0.48, 0.63, 0.77, 0.87, 0.97)),
        ("pick_of_four", (0.39, 0.55, 0.70, 0.82, 0.96)),
        ("oddity", (0.36, 0.42, 0.51, 0.61, 0.78)),
        ("abx", (0.52, 0.58, 0.66, 0.75, 0.88)),
    ],
)
def test_agrees_with_the_tables_to_two_digits(task: str, printed: tuple[float, ...]) -> None:
    """Macmillan & Creelman, Detection Theory (2nd ed. 2005), tables of d' by task; from memory."""
    np.testing.assert_allclose(LINKS[task].correct(D_PRIMES), printed, atol=0.0071)


@pytest.mark.parametrize(
    ("task", "d_prime"),
    [("pick_of_two", 0.95), ("pick_of_three", 1.43), ("pick_of_four", 1.68), ("oddity", 2.80), ("abx", 2.02)],
)
def test_three_quarters_right_where_the_tables_say(task: str, d_prime: float) -> None:
    """Macmillan & Creelman, Detection Theory (2nd ed. 2005), d' for 75 % right; from memory."""
    assert float(LINKS[task].correct(d_prime)) == pytest.approx(0.75, abs=0.002)


@pytest.mark.parametrize("choices", range(2, 9))
@pytest.mark.parametrize("d_prime", [0.0, 0.003, 0.77, 1.5, 2.345, 4.2, 7.0])
def test_picks_agree_with_adaptive_integration(choices: int, d_prime: float) -> None:
    """Green & Swets, Signal Detection Theory (1966): the target is the largest; scipy's quad integrates."""
    names = ("two", "three", "four", "five", "six", "seven", "eight")
    truth = quad(
        lambda z: norm.pdf(z - d_prime) * norm.cdf(z) ** (choices - 1),
        -9.0,
        16.0,
        epsabs=1e-11,
        points=[d_prime],
    )[0]
    assert float(LINKS[f"pick_of_{names[choices - 2]}"].correct(d_prime)) == pytest.approx(truth, abs=1e-9)


@pytest.mark.parametrize("d_prime", [0.0, 0.004, 0.5, 1.5, 2.8, 5.005, 9.0, 15.0])
def test_oddity_agrees_with_the_noncentral_f(d_prime: float) -> None:
    """The triangle's closed form, 1 − F(3; 1, 1, 2d'²/3): Brockhoff & Christensen (2010), from memory."""
    truth = ncf.sf(3.0, 1, 1, 2.0 * d_prime**2 / 3.0) if d_prime else 1.0 / 3.0
    assert float(LINKS["oddity"].correct(d_prime)) == pytest.approx(truth, abs=1e-7)


@pytest.mark.parametrize("d_prime", [0.3, 1.0, 2.0, 4.0])
def test_abx_agrees_with_integration_over_x(d_prime: float) -> None:
    """B is right when X lies on B's side of the middle of A and B; integrate over their distance and X."""

    def given_distance(distance: float) -> float:
        # X minus the middle of A and B has mean d'/2 and variance 3/2, whatever the distance of A and B.
        beyond = norm.sf(0.0, d_prime / 2.0, np.sqrt(1.5))
        return float(norm.pdf(distance, d_prime, np.sqrt(2.0)) * (beyond if distance > 0 else 1.0 - beyond))

    truth = sum(quad(given_distance, *part)[0] for part in ((-15.0, 0.0), (0.0, 20.0)))
    assert float(LINKS["abx"].correct(d_prime)) == pytest.approx(truth, abs=1e-7)


@pytest.mark.parametrize("task", sorted(LINKS))
def test_agrees_with_drawn_sensations(task: str) -> None:
    """Sensations drawn at random and compared; four standard errors of 6000 trials."""
    rng = np.random.default_rng(5)
    listener = Listener(threshold=1.0, slope=1.0, lapse=0.0)
    share = np.mean([listener.answer(1.0, task, rng) for _ in range(6000)])
    predicted = float(LINKS[task].correct(1.5))
    assert share == pytest.approx(predicted, abs=4 * np.sqrt(predicted * (1 - predicted) / 6000))


@pytest.mark.parametrize("task", sorted(LINKS))
def test_begins_at_the_guess_rate_and_ends_at_one(task: str) -> None:
    """With nothing to hear, one button of m is right by chance: 1/m."""
    ends = LINKS[task].correct([0.0, 20.0, 1e9, np.inf])
    np.testing.assert_allclose(ends, [1.0 / CHOICES[task], 1.0, 1.0, 1.0], atol=1e-9)
    assert LINKS[task].guess == 1.0 / CHOICES[task]


@given(st.sampled_from(sorted(LINKS)), st.floats(0.0, 25.0), st.floats(0.0, 25.0))
def test_never_falls_as_sensitivity_grows(task: str, one: float, other: float) -> None:
    """More sensitivity never makes an ideal observer worse (rounding 1e-9 aside)."""
    low, high = LINKS[task].correct(sorted((one, other)))
    assert low <= high + 1e-9 <= 1.0 + 1e-9


@pytest.mark.parametrize("d_prime", [-0.1, float("nan"), [1.0, -1.0]])
def test_refuses_what_is_no_sensitivity(d_prime: object) -> None:
    """A negative or missing d' is a mistake of the caller."""
    with pytest.raises(BadValue, match="d_prime="):
        LINKS["abx"].correct(d_prime)  # type: ignore[arg-type]


def test_refuses_an_unknown_task() -> None:
    """The message names what exists."""
    with pytest.raises(BadValue, match="task=pick_of_nine, expected one of pick_of_two"):
        link_for("pick_of_nine")
