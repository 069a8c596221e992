"""A simulated person: true thresholds, days of practice, a set-up, and an answer to every form of question."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from trainer.exercise.drill import Drill
from trainer.exercise.forms import FORMS
from trainer.exercise.trial import PreparedTrial
from trainer.listening.listener import Listener

# Amounts are estimated with such a spread (natural logarithm); faults and pairs are met with such a chance.
ESTIMATE_SD = 0.25
FOUND, IN_ORDER = 0.75, 0.85
LIKES_LOUDER = 0.7


def stay_the_same(day: int) -> float:
    """Ears that do not change."""
    return 1.0


@dataclass(frozen=True)
class Person:
    """Describe a person.

    Parameters
    ----------
    name, setup : str
        For the transcript, and the listening set-up.
    practises : tuple of int
        Days of practice, from 0.
    ratio : float
        True thresholds as a share of what is typical of a drill.
    ratios : mapping of str to float
        The same for single drills.
    improves : callable
        Share of the threshold that is left on a day.
    hears : mapping of str to bool
        What the set-up plays: ``low`` and ``top``.
    own_mix : bool
        Whether the person practises with a mix of their own.
    """

    name: str
    practises: tuple[int, ...]
    setup: str = "headphones"
    ratio: float = 1.0
    ratios: Mapping[str, float] = field(default_factory=dict)
    improves: Callable[[int], float] = stay_the_same
    hears: Mapping[str, bool] = field(default_factory=lambda: {"low": True, "top": True})
    own_mix: bool = False

    def find_threshold(self, drill: Drill, day: int) -> float:
        """Find the true threshold in a drill on a day, in its unit."""
        return drill.amount.typical * self.ratios.get(drill.drill, self.ratio) * self.improves(day)


def answer(person: Person, trial: PreparedTrial, day: int, rng: np.random.Generator) -> str:
    """Answer a question, of any form, as text."""
    drill, layout = trial.spec.drill, trial.layout
    form = FORMS[drill.form]
    if drill.form == "lesson":
        return "yes" if person.hears.get(drill.reach, True) else "no"
    if form.answer_kind == "marks":
        faults = layout.right_answer.split(" | ")[1].split("; ")
        return "; ".join(fault for fault in faults if fault != "none" and rng.random() < FOUND) or "none"
    if form.answer_kind == "order":
        return " ".join(_shuffle_a_little(layout.right_answer.split(), rng))
    if form.answer_kind == "amount":
        return _estimate(trial, rng)
    if not layout.right_answer:
        prefers = next((place for place, take in enumerate(layout.takes) if take.processed), 0)
        liked = rng.random() < LIKES_LOUDER
        return layout.answers[prefers if liked else (prefers + 1) % len(layout.answers)]
    task = form.task(drill)
    assert task is not None
    listener = Listener(person.find_threshold(drill, day))
    if listener.answer(trial.spec.amount, task, rng):
        return layout.right_answer
    return str(rng.choice([each for each in layout.answers if each != layout.right_answer]))


def _estimate(trial: PreparedTrial, rng: np.random.Generator) -> str:
    """Estimate an amount, or set a control to its nearest value."""
    right = float(trial.layout.right_answer.split()[0])
    guess = right * float(np.exp(rng.normal(0.0, ESTIMATE_SD)))
    control = trial.layout.control
    return f"{min(control, key=lambda each: abs(each - guess)):g}" if control else f"{guess:.2g}"


def _shuffle_a_little(order: list[str], rng: np.random.Generator) -> list[str]:
    """Swap neighbours now and then."""
    mixed = list(order)
    for place in range(len(mixed) - 1):
        if rng.random() > IN_ORDER:
            mixed[place : place + 2] = mixed[place + 1], mixed[place]
    return mixed
