"""How well the threshold engine finds simulated ears, beside what it must reach."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt
from scipy.integrate import quad
from scipy.stats import norm

from trainer.listening.listener import Listener
from trainer.listening.threshold import Estimate, Scale, Track

Floats = npt.NDArray[np.float64]

LISTENERS = 300
FIRST_DAY_LISTENERS = 1000
SEED = 20
PRACTISED = Scale(low=0.06, high=12.0, prior_median=1.5, amount_low=0.06, amount_high=12.0)
FLAT = replace(PRACTISED, prior_sd_log10=50.0)
DAYS = 20
BREAK_BEFORE = 15
BREAK_DAYS = 10
TWENTY_PERCENT_LOG10 = 0.079


class Ears(Protocol):
    """Whatever answers a trial."""

    def answer(self, amount: float, task: str, rng: np.random.Generator) -> bool:
        """Tell whether the answer is right."""


@dataclass(frozen=True)
class Row:
    """One measured figure beside the bounds it must keep."""

    measure: str
    figure: float
    least: float
    most: float

    @property
    def kept(self) -> bool:
        """Tell whether the figure lies within its bounds."""
        return self.least <= self.figure <= self.most


@dataclass(frozen=True)
class WeibullEars:
    """Answer after a Weibull curve, which is not the curve that the engine assumes."""

    scale_amount: float
    slope: float = 1.3
    lapse: float = 0.02

    def answer(self, amount: float, task: str, rng: np.random.Generator) -> bool:
        """Tell whether the answer is right."""
        guess = {"pick_of_two": 1 / 2, "pick_of_three": 1 / 3}[task]
        attentive = 1 - (1 - guess) * np.exp(-((amount / self.scale_amount) ** self.slope))
        return bool(rng.random() < self.lapse * guess + (1 - self.lapse) * attentive)


@dataclass(frozen=True)
class Session:
    """What one day of practice found, what was so, and how it felt."""

    error_log10: float
    covered: bool
    fraction_correct: float


def run() -> bool:
    """Print every figure beside its demand and return whether all are kept."""
    started = time.perf_counter()
    rows: list[Row] = []
    for topic in (_three_over_days, _two_over_days, _after_a_jump, _flat_prior, _wrong_slope, _mixed_tasks):
        for row in topic():
            print(
                f"{'ok  ' if row.kept else 'MISS'} {row.measure:62s} {row.figure:8.3f}   {_bounds(row)}",
                flush=True,
            )
            rows.append(row)
    rows.append(_speed())
    print(f"{'ok  ' if rows[-1].kept else 'MISS'} {rows[-1].measure:62s} {rows[-1].figure:8.3f}   at most 2")
    print(f"{sum(row.kept for row in rows)} of {len(rows)} kept, {time.perf_counter() - started:.0f} s")
    return all(row.kept for row in rows)


def _bounds(row: Row) -> str:
    """Word what is demanded."""
    if row.least == -np.inf:
        return f"at most {row.most:g}"
    return f"at least {row.least:g}" if row.most == np.inf else f"{row.least:g} to {row.most:g}"


def _three_over_days() -> Iterator[Row]:
    """Practise one day, then twenty days, with three intervals."""
    first = [days[0] for days in _practise("pick_of_three", 1, jump_day=None, listeners=FIRST_DAY_LISTENERS)]
    yield from _rows("3 intervals, day 1, 30 trials", first, bias=0.03, sd=0.10, within=0.65, cover=(0.93, 0.99))
    # The share hangs on how far apart people are: with a wider spread it lies at the demand or just under it.
    wide = _practise("pick_of_three", 1, jump_day=None, listeners=FIRST_DAY_LISTENERS, as_prior=True)
    yield from _rows("the same, ears spread as the prior", [d[0] for d in wide], 0.03, 0.10, 0.65, (0.93, 0.99))
    sessions = _practise("pick_of_three", DAYS, jump_day=None)
    later = [session for days in sessions for session in days[4:]]
    yield from _rows("3 intervals, days 5-20", later, bias=0.03, sd=0.075, within=0.75, cover=(0.92, 0.98))
    yield from _felt("3 intervals, days 5-20", later)
    back = [days[BREAK_BEFORE - 1] for days in sessions]
    yield Row("3 intervals, back after 10 days: coverage", _coverage(back), 0.90, np.inf)


def _two_over_days() -> Iterator[Row]:
    """Practise twenty days with two intervals."""
    sessions = _practise("pick_of_two", DAYS, jump_day=None)
    later = [session for days in sessions for session in days[4:]]
    yield from _rows("2 intervals, days 5-20", later, bias=None, sd=0.085, within=0.70, cover=(0.92, 0.98))
    yield from _felt("2 intervals, days 5-20", later)


def _after_a_jump() -> Iterator[Row]:
    """Let every threshold rise by 0.20 on the sixth day."""
    sessions = _practise("pick_of_three", 8, jump_day=6)
    yield Row(
        "3 intervals, 2 days after a jump of +0.20: coverage",
        _coverage([d[7] for d in sessions]),
        0.93,
        np.inf,
    )


def _flat_prior() -> Iterator[Row]:
    """Find Weibull ears without any expectation."""
    for task, name, most in (("pick_of_three", "3 intervals", 0.12), ("pick_of_two", "2 intervals", 0.16)):
        per_amount = _weibull_threshold(task)

        def make(threshold: float, per_amount: float = per_amount) -> Ears:
            return WeibullEars(threshold / per_amount)

        found = _sessions(FLAT, (task,), make, (40,))[40]
        yield Row(f"{name}, flat prior, 40 trials, Weibull ears: SD", _spread(found), -np.inf, most)


def _wrong_slope() -> Iterator[Row]:
    """Find ears whose d' grows slower or faster than is expected."""
    for task, name in (("pick_of_three", "3 intervals"), ("pick_of_two", "2 intervals")):
        for slope in (0.8, 2.2):

            def make(threshold: float, slope: float = slope) -> Ears:
                return Listener(threshold, slope)

            for trials, found in _sessions(FLAT, (task,), make, (30, 60)).items():
                label = f"{name}, true slope {slope}, {trials} trials"
                yield Row(f"{label}: bias", _bias(found), -0.03, 0.03)
                yield Row(f"{label}: coverage", _coverage(found), 0.88, np.inf)


def _mixed_tasks() -> Iterator[Row]:
    """Ask in three ways in turn within one track."""
    found = _sessions(FLAT, ("pick_of_three", "pick_of_two", "abx"), Listener, (60,))[60]
    yield Row("3 intervals, 2 intervals, ABX in turn, 60 trials: bias", _bias(found), -0.03, 0.03)


def _speed() -> Row:
    """Time one choice and one update, in milliseconds."""
    track = Track.begin(PRACTISED)
    track.next_amount("pick_of_three")
    started = time.perf_counter()
    for index in range(200):
        track = track.after(track.next_amount("pick_of_three"), index % 4 > 0, "pick_of_three")
    return Row("choose and update, ms", (time.perf_counter() - started) / 200 * 1000, -np.inf, 2.0)


def _rows(
    label: str, found: list[Session], bias: float | None, sd: float, within: float, cover: tuple[float, float]
) -> Iterator[Row]:
    """Put the usual four figures beside their bounds."""
    if bias is not None:
        yield Row(f"{label}: bias", _bias(found), -bias, bias)
    yield Row(f"{label}: SD", _spread(found), -np.inf, sd)
    near = float(np.mean([abs(session.error_log10) <= TWENTY_PERCENT_LOG10 for session in found]))
    yield Row(f"{label}: within 20 %", near, within, np.inf)
    yield Row(f"{label}: coverage", _coverage(found), *cover)


def _felt(label: str, found: list[Session]) -> Iterator[Row]:
    """Say how often people were right in a session."""
    shares = [session.fraction_correct for session in found]
    yield Row(f"{label}: right in the median session", float(np.median(shares)), 0.75, 0.85)
    yield Row(f"{label}: right in the 5th percentile session", float(np.quantile(shares, 0.05)), 0.65, np.inf)
    yield Row(f"{label}: right in the 95th percentile session", float(np.quantile(shares, 0.95)), -np.inf, 0.95)


def _bias(found: list[Session]) -> float:
    return float(np.mean([session.error_log10 for session in found]))


def _spread(found: list[Session]) -> float:
    return float(np.std([session.error_log10 for session in found], ddof=1))


def _coverage(found: list[Session]) -> float:
    return float(np.mean([session.covered for session in found]))


def _session(found: Estimate, threshold: float, fraction_correct: float) -> Session:
    """Compare one estimate with the truth."""
    error_log10 = float(np.log10(found.median / threshold))
    return Session(error_log10, found.low <= threshold <= found.high, fraction_correct)


def _sessions(
    scale: Scale, tasks: tuple[str, ...], make: Callable[[float], Ears], stops: tuple[int, ...]
) -> dict[int, list[Session]]:
    """Give each listener one sitting and look at the estimate after each number of trials."""
    found: dict[int, list[Session]] = {stop: [] for stop in stops}
    for index in range(LISTENERS):
        rng = np.random.default_rng([SEED, index])
        threshold = _draw_threshold(rng)
        ears, track, right = make(threshold), Track.begin(scale), 0
        for trial in range(max(stops)):
            task = tasks[trial % len(tasks)]
            amount = track.next_amount(task)
            correct = ears.answer(amount, task, rng)
            track, right = track.after(amount, correct, task), right + correct
            if track.trials in found:
                found[track.trials].append(_session(track.estimate(), threshold, right / track.trials))
    return found


def _draw_threshold(rng: np.random.Generator) -> float:
    """Return a threshold from 0.5 to 3, any of its logarithms as likely as another."""
    return float(np.exp(rng.uniform(np.log(0.5), np.log(3.0))))


def _practise(
    task: str, days: int, jump_day: int | None, listeners: int = LISTENERS, as_prior: bool = False
) -> list[list[Session]]:
    """Let changing listeners practise 30 trials a day; a list of days for each.

    Thresholds at the start are log-uniform from 0.5 to 3, or spread like the prior itself (sd 0.35).
    """
    generators = [np.random.default_rng([SEED, k]) for k in range(listeners)]
    return [_one_life(task, days, jump_day, rng, as_prior) for rng in generators]


def _one_life(task: str, days: int, jump_day: int | None, rng: np.random.Generator, as_prior: bool) -> list[Session]:
    """Practise with ears that learn, drift, have good and bad days and waver within a day."""
    listener = Listener(1.0, float(rng.choice([1.0, 1.3, 1.8])), float(rng.uniform(0.01, 0.05)))
    log10_start = np.log10(PRACTISED.prior_median) + PRACTISED.prior_sd_log10 * rng.standard_normal()
    if not as_prior:
        log10_start = np.log10(_draw_threshold(rng))
    gain_log10, drift_log10 = rng.uniform(0.05, 0.40), 0.0
    track, found = Track.begin(PRACTISED), []
    for day in range(1, days + 1):
        away = 0 if day == 1 else 1 + BREAK_DAYS * (day == BREAK_BEFORE)
        track = track.after_days(away)
        drift_log10 += 0.015 * np.sqrt(away) * rng.standard_normal()
        learnt = gain_log10 * (1.0 - np.exp(-(day - 1) / 6.0))
        jumped = 0.20 * (jump_day is not None and day >= jump_day)
        threshold = 10 ** (log10_start - learnt + drift_log10 + jumped + 0.05 * rng.standard_normal())
        track, fraction_correct = _one_day(track, task, replace(listener, threshold=float(threshold)), rng)
        found.append(_session(track.estimate(), float(threshold), fraction_correct))
    return found


def _one_day(track: Track, task: str, listener: Listener, rng: np.random.Generator) -> tuple[Track, float]:
    """Answer 30 trials with a threshold that differs by 0.05 from one trial to the next."""
    right = 0
    for _ in range(30):
        wobble_log10 = 0.05 * rng.standard_normal()
        now = replace(listener, threshold=float(listener.threshold * 10**wobble_log10))
        amount = track.next_amount(task)
        correct = now.answer(amount, task, rng)
        track, right = track.after(amount, correct, task), right + correct
    return track, right / 30


def _weibull_threshold(task: str) -> float:
    """Return where a Weibull curve of unit amount is as often right as d' = 1.5 is."""
    if task == "pick_of_two":
        guess, wanted = 1 / 2, float(norm.cdf(1.5 / np.sqrt(2)))
    else:
        guess = 1 / 3
        wanted = quad(lambda z: norm.pdf(z - 1.5) * norm.cdf(z) ** 2, -10, 12)[0]
    return float((-np.log((1 - wanted) / (1 - guess))) ** (1 / WeibullEars(1.0).slope))
