"""The threshold engine."""

from __future__ import annotations

import json
import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import ndtr
from scipy.stats import entropy, norm

from trainer.errors import BadValue
from trainer.listening.links import LINKS
from trainer.listening.listener import Listener
from trainer.listening.placement import expected_entropy, threshold_and_right
from trainer.listening.scale import LAPSES, SLOPES, levels, slope_prior, threshold_grid
from trainer.listening.threshold import Scale, Track

SCALE = Scale(low=0.06, high=12.0, prior_median=1.5, amount_low=0.1, amount_high=9.0)
ANSWERS = [(3.0, True), (1.7, True), (1.2, False), (2.0, True), (1.1, True), (0.8, False), (1.4, True)]


def _practised(task: str = "pick_of_three", scale: Scale = SCALE) -> Track:
    track = Track.begin(scale)
    for amount, correct in ANSWERS:
        track = track.after(amount, correct, task)
    return track


def _right_of_three(d_prime: float) -> float:
    density = 1.0 / math.sqrt(2.0 * math.pi)
    return float(quad(lambda z: density * math.exp(-z * z / 2) * ndtr(z + d_prime) ** 2, -9, 9, epsabs=1e-11)[0])


def test_the_prior_is_the_stated_one() -> None:
    """Log-normal thresholds and slopes, four lapse rates; written out with scipy.stats.norm."""
    prior = Track.begin(SCALE).posterior
    thresholds = norm.pdf(np.log10(np.geomspace(0.06, 12.0, 81)), np.log10(1.5), 0.35)
    slopes = norm.pdf(np.log(np.geomspace(0.6, 3.2, 7)), np.log(1.3), 0.40)
    np.testing.assert_allclose(prior.sum(axis=(1, 2)), thresholds / thresholds.sum(), rtol=1e-12)
    np.testing.assert_allclose(prior.sum(axis=(0, 2)), slopes / slopes.sum(), rtol=1e-12)
    np.testing.assert_allclose(prior.sum(axis=(0, 1)), [0.35, 0.40, 0.18, 0.07], rtol=1e-12)


@pytest.mark.parametrize("power", [1.0, 0.9])
def test_the_posterior_is_bayes_written_out(power: float) -> None:
    """Bayes' rule in plain loops, with scipy's quad for three intervals, on a sample of the grid."""
    track = Track.begin(SCALE, likelihood_power=power)
    for amount, correct in ANSWERS:
        track = track.after(amount, correct, "pick_of_three")
    begin = Track.begin(SCALE).posterior
    cells = [(t, b, k) for t in (20, 45, 52, 60) for b in (0, 3) for k in (0, 2)]
    weights = []
    for t, b, k in cells:
        weight = float(begin[t, b, k])
        for amount, correct in ANSWERS:
            heard = _right_of_three(1.5 * (amount / (0.06 * 200 ** (t / 80))) ** float(SLOPES[b]))
            right = LAPSES[k] / 3 + (1 - LAPSES[k]) * heard
            weight *= (right if correct else max(0.0, 1 - right)) ** power
        weights.append(weight)
    found = np.array([track.posterior[cell] for cell in cells])
    np.testing.assert_allclose(found / found.sum(), np.array(weights) / sum(weights), atol=1e-9)


def test_the_posterior_equals_that_of_a_reference_package() -> None:
    """The open-source package questplus on 40 answers, to 1e-9.

    It offers no d' link, so it is given this table of probabilities, made here from the closed form
    Φ(d'/√2); the taking in of answers and the marginals are its own.
    """
    questplus = pytest.importorskip("questplus")
    xarray = pytest.importorskip("xarray")
    amounts, thresholds = levels(SCALE), threshold_grid(SCALE)
    quest = questplus.QuestPlus(
        stim_domain={"intensity": amounts},
        param_domain={
            "threshold": thresholds,
            "slope": SLOPES,
            "lapse_rate": LAPSES,
            "lower_asymptote": [0.5],
        },
        outcome_domain={"response": ["right", "wrong"]},
        prior={
            "threshold": norm.pdf(np.log10(thresholds), np.log10(1.5), 0.35),
            "slope": slope_prior(),
            "lapse_rate": [0.35, 0.40, 0.18, 0.07],
            "lower_asymptote": [1.0],
        },
        func="weibull",
        stim_scale="linear",
    )
    ratio = amounts[:, None, None] / thresholds[:, None]
    heard = norm.cdf(1.5 * ratio**SLOPES / np.sqrt(2))[..., None, None]
    lapse = LAPSES[:, None]
    right = lapse * 0.5 + (1 - lapse) * heard
    dims = ("response", "intensity", "threshold", "slope", "lapse_rate", "lower_asymptote")
    table = xarray.DataArray(np.stack([right, 1 - right]), quest.likelihoods.coords, dims)
    quest.likelihoods = table.transpose(*quest.likelihoods.dims)
    track = Track.begin(SCALE, likelihood_power=1.0)
    rng = np.random.default_rng(2)
    for _ in range(40):
        amount = track.next_amount("pick_of_two")
        correct = bool(rng.random() < norm.cdf(1.5 * amount / 1.2 / np.sqrt(2)))
        track = track.after(amount, correct, "pick_of_two")
        quest.update(stim={"intensity": amount}, outcome={"response": "right" if correct else "wrong"})
    known = quest.posterior.transpose("threshold", "slope", "lapse_rate", "lower_asymptote").values[..., 0]
    np.testing.assert_allclose(track.posterior, known, atol=1e-9, rtol=1e-9)
    np.testing.assert_allclose(track.threshold_probability(), quest.marginal_posterior["threshold"], atol=1e-9)


def test_expected_entropy_is_the_average_over_both_answers() -> None:
    """Each answer taken in by the engine at full weight; scipy.stats.entropy of what would then be known."""
    track = Track.begin(SCALE, likelihood_power=1.0)
    for amount, correct in ANSWERS:
        track = track.after(amount, correct, "pick_of_three")
    right = threshold_and_right(SCALE, track.posterior, "pick_of_three")
    found = expected_entropy(right, track.threshold_probability())
    for index in (3, 18, 25, 40):
        amount = float(levels(SCALE)[index])
        likely = track.predict_correct(amount, "pick_of_three")
        after = [
            entropy(track.after(amount, correct, "pick_of_three").threshold_probability()) for correct in (True, False)
        ]
        assert found[index] == pytest.approx(likely * after[0] + (1 - likely) * after[1], abs=1e-9)


@pytest.mark.parametrize("task", sorted(LINKS))
def test_asks_inside_the_band_and_chooses_the_most_telling(task: str) -> None:
    """No other level inside 70 to 85 % would leave less entropy, by trying every one."""
    track = _practised(task)
    chosen = track.next_amount(task)
    assert 0.70 <= track.predict_correct(chosen, task) <= 0.85
    plain = Track(SCALE, track.posterior, likelihood_power=1.0)

    def left_over(amount: float) -> float:
        likely = plain.predict_correct(amount, task)
        known = [plain.after(amount, correct, task).threshold_probability() for correct in (True, False)]
        return float(likely * entropy(known[0]) + (1 - likely) * entropy(known[1]))

    inside = [float(a) for a in levels(SCALE) if 0.70 <= track.predict_correct(float(a), task) <= 0.85]
    assert left_over(chosen) <= min(map(left_over, inside)) + 1e-12


def test_keeps_to_the_band_when_the_most_telling_level_lies_outside() -> None:
    """Entropy alone would at times ask harder than 70 % and at times easier than 85 %; the band prevails."""
    harder = easier = 0
    for seed, task in enumerate(("pick_of_three", "pick_of_eight", "abx", "pick_of_two")):
        rng, track, listener = np.random.default_rng(seed), Track.begin(SCALE), Listener(1.2)
        for _ in range(25):
            right = threshold_and_right(SCALE, track.posterior, task)
            free = np.argmin(expected_entropy(right, track.threshold_probability()))
            freely = track.predict_correct(float(levels(SCALE)[free]), task)
            harder, easier = harder + (freely < 0.70), easier + (freely > 0.85)
            amount = track.next_amount(task)
            assert 0.70 - 1e-9 <= track.predict_correct(amount, task) <= 0.85 + 1e-9
            track = track.after(amount, listener.answer(amount, task, rng), task)
    assert harder > 0 and easier > 0


@pytest.mark.parametrize(("amount_low", "amount_high", "nearest"), [(20.0, 90.0, 20.0), (0.01, 0.05, 0.05)])
def test_asks_the_nearest_level_when_none_is_inside(amount_low: float, amount_high: float, nearest: float) -> None:
    """Everything far too easy calls for the smallest amount, everything too hard for the largest."""
    scale = Scale(0.06, 12.0, 1.5, amount_low, amount_high)
    assert Track.begin(scale).next_amount("pick_of_three") == pytest.approx(nearest)


def test_finds_the_interval_of_a_known_distribution() -> None:
    """Before any answer the 95 % interval is that of the log-normal prior, median · 10^(±1.96 sd)."""
    found = Track.begin(Scale(0.01, 100.0, 1.0, 0.1, 10.0, prior_sd_log10=0.35)).estimate()
    assert found.median == pytest.approx(1.0, rel=1e-3)
    assert found.low == pytest.approx(10 ** (-1.96 * 0.35), rel=0.01)
    assert found.high == pytest.approx(10 ** (1.96 * 0.35), rel=0.01)
    assert found.half_width_ratio == pytest.approx(10 ** (1.96 * 0.35), rel=0.01)
    assert not found.settled and found.edge is None and found.trials == 0


@pytest.mark.parametrize(("correct", "edge"), [(True, "low"), (False, "high")])
def test_says_when_the_threshold_lies_beyond_the_grid(correct: bool, edge: str) -> None:
    """Always right at the smallest amount, or hardly ever at the largest, is beyond what can be tested."""
    scale = Scale(0.5, 4.0, 1.5, 0.5, 4.0)
    track = Track.begin(scale)
    for _ in range(40):
        track = track.after(track.next_amount("pick_of_three"), correct, "pick_of_three")
    assert track.estimate().edge == edge
    assert scale.low <= track.estimate().low <= track.estimate().high <= scale.high


def test_notices_slips_on_easy_questions() -> None:
    """Fine ears that miss one in seven where the difference is plain can only be slipping."""
    tracks = {}
    for lapse in (0.0, 0.2):
        listener, rng = Listener(threshold=0.5, slope=1.3, lapse=lapse), np.random.default_rng(6)
        track = Track.begin(SCALE)
        assert not track.slips_likely()
        for index in range(120):
            amount = (0.6, 9.0)[index % 2]
            track = track.after(amount, listener.answer(amount, "pick_of_three", rng), "pick_of_three")
        tracks[lapse] = track
    assert tracks[0.2].slips_likely() and not tracks[0.0].slips_likely()


def test_continues_exactly_from_json() -> None:
    """Nothing is lost in writing down: the same bytes follow."""
    track = _practised().after_days(3)
    copy = Track.from_dict(json.loads(json.dumps(track.to_dict())))
    for _ in range(5):
        assert copy.next_amount("abx") == track.next_amount("abx")
        copy, track = copy.after(1.3, True, "abx"), track.after(1.3, True, "abx")
    assert copy.posterior.tobytes() == track.posterior.tobytes()
    assert copy.estimate() == track.estimate() and copy.scale == track.scale


def test_what_is_known_cannot_be_changed_in_place() -> None:
    """An answer gives a new track and leaves the old one as it was."""
    track = Track.begin(SCALE)
    before = track.posterior.tobytes()
    track.after(1.0, True, "abx")
    assert track.posterior.tobytes() == before
    with pytest.raises(ValueError, match="read-only"):
        track.posterior[0, 0, 0] = 1.0


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(1e-3, 1e3), st.booleans(), st.sampled_from(sorted(LINKS)), st.integers(0, 400)),
        max_size=12,
    )
)
def test_stays_a_probability_whatever_is_answered(steps: list[tuple[float, bool, str, int]]) -> None:
    """Probabilities sum to 1 and the interval holds its median inside the grid."""
    track = Track.begin(SCALE)
    for amount, correct, task, days in steps:
        track = track.after_days(days).after(amount, correct, task)
    assert track.posterior.min() >= 0.0 and track.posterior.sum() == pytest.approx(1.0, abs=1e-12)
    found = track.estimate()
    assert 0.06 - 1e-9 <= found.low <= found.median <= found.high <= 12.0 + 1e-9
    assert found.trials == len(steps)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.05, 20.0), st.sampled_from(sorted(LINKS)))
def test_one_right_answer_never_raises_the_first_estimate(amount: float, task: str) -> None:
    """At the start threshold, slope and lapse are independent, and P(right) falls with the threshold.

    A likelihood that falls with the threshold moves every quantile of a prior down or not at all.
    """
    begin = Track.begin(SCALE)
    right, wrong = (begin.after(amount, correct, task).estimate() for correct in (True, False))
    assert right.median <= begin.estimate().median * (1 + 1e-9)
    assert wrong.median >= begin.estimate().median * (1 - 1e-9)


def test_is_quick_enough_to_pass_unnoticed() -> None:
    """One choice and one update in 2 ms, an eighth of a frame of a 60 Hz screen; best of a few runs."""
    track = _practised()
    track.next_amount("pick_of_three")
    seconds = []
    for _ in range(40):
        started = time.perf_counter()
        track.after(track.next_amount("pick_of_three"), True, "pick_of_three")
        seconds.append(time.perf_counter() - started)
    assert min(seconds) < 0.002


@pytest.mark.parametrize("amount", [0.0, -1.0, math.nan, math.inf])
def test_refuses_an_impossible_amount(amount: float) -> None:
    """An amount of nothing has no logarithm."""
    with pytest.raises(BadValue, match="amount="):
        Track.begin(SCALE).after(amount, True, "abx")


def test_refuses_a_broken_record() -> None:
    """A damaged file is named, not continued."""
    whole = _practised().to_dict()
    broken = [
        {key: value for key, value in whole.items() if key != "trials"},
        {**whole, "posterior": whole["posterior"][:-1]},
        {**whole, "posterior": [2.0 * value for value in whole["posterior"]]},
        {**whole, "scale": {"low": 1.0}},
        {**whole, "scale": {**whole["scale"], "low": "small"}},
        {**whole, "posterior": "none"},
        {**whole, "trials": "many"},
        {**whole, "trials": -1},
        {**whole, "likelihood_power": 0.0},
    ]
    for values in broken:
        with pytest.raises(BadValue, match="track: "):
            Track.from_dict(values)
    with pytest.raises(BadValue, match="posterior="):
        Track(SCALE, np.ones((2, 2, 2)) / 8)


@pytest.mark.parametrize(
    "bounds",
    [
        (0.0, 12.0, 1.5, 0.1, 9.0),
        (12.0, 0.06, 1.5, 0.1, 9.0),
        (0.06, 12.0, 20.0, 0.1, 9.0),
        (0.06, 12.0, 1.5, 9.0, 0.1),
        (0.06, math.inf, 1.5, 0.1, 9.0),
        (0.06, 12.0, 1.5, 0.1, 9.0, 0.0),
    ],
)
def test_refuses_bounds_that_make_no_scale(bounds: tuple[float, ...]) -> None:
    """Every bound is positive and in its order."""
    with pytest.raises(BadValue, match="scale: "):
        Scale(*bounds)
