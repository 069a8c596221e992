"""A drill's own engine on simulated listeners with fixed ears: for `evenhand simulate`."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from trainer.app.world import Conditions, list_known_drills
from trainer.errors import BadValue
from trainer.exercise.forms import FORMS
from trainer.files.library import find_drill
from trainer.listening.listener import Listener
from trainer.listening.simulation import simulate, summarise
from trainer.units import write_amount, write_number

MOST_LISTENERS, MOST_DAYS, MOST_TRIALS = 2000, 400, 1000


@dataclass(frozen=True)
class SimulationWish:
    """What `evenhand simulate` was asked for.

    Parameters
    ----------
    drill : str
        The drill.
    threshold : float
        Amount at which d' is 1.5, in the drill's unit, above 0.
    slope : float
        Exponent of d', above 0.
    lapse : float
        Share of answers given without listening, 0 to 1.
    trials, days, listeners : int
        Answers a day, days, and how many listeners.
    seed : int
        Of the listeners' sensations.
    """

    drill: str
    threshold: float
    slope: float = 1.3
    lapse: float = 0.02
    trials: int = 30
    days: int = 1
    listeners: int = 20
    seed: int = 1


def simulate_drill(conditions: Conditions, wish: SimulationWish) -> dict[str, Any]:
    """Let simulated listeners practise a drill; gives plain facts.

    Raises
    ------
    BadValue
        If the drill has no threshold, or a figure is out of bounds.
    """
    drill = find_drill(list_known_drills(conditions), wish.drill)
    task = FORMS[drill.form].task(drill)
    if task is None:
        raise BadValue("simulate", "form", drill.form, "a drill whose form has a threshold")
    for name, most in (("trials", MOST_TRIALS), ("days", MOST_DAYS), ("listeners", MOST_LISTENERS)):
        if not 1 <= getattr(wish, name) <= most:
            raise BadValue("simulate", name, getattr(wish, name), f"1 to {most}")
    listener = Listener(wish.threshold, wish.slope, wish.lapse)
    streams = np.random.SeedSequence(wish.seed).spawn(wish.listeners)
    found = [
        simulate(drill.scale, task, listener, wish.trials, wish.days, np.random.default_rng(stream))
        for stream in streams
    ]
    return {
        "drill": drill.drill,
        "threshold": wish.threshold,
        "unit": drill.amount.unit,
        "listeners": [asdict(one) for one in found],
        "summary": asdict(summarise(found, wish.threshold)),
    }


def word_simulation(found: dict[str, Any]) -> tuple[str, ...]:
    """Word what was found, for a terminal."""
    unit, summary, listeners = found["unit"], found["summary"], found["listeners"]
    lines = [
        f"{one['trials']} trials: between {write_amount(one['low'])} and {write_amount(one['high'])} {unit}, "
        f"most likely {write_amount(one['estimate'])}; {round(100 * one['fraction_correct'])} % right."
        for one in listeners
    ]
    bias, scatter = write_number(summary["bias_log10"], 3, signed=True), write_number(summary["sd_log10"], 3)
    return (
        *lines,
        f"True threshold {write_amount(found['threshold'])} {unit}; {len(listeners)} listeners: bias {bias}, "
        f"scatter {scatter} (log10); "
        f"{round(100 * summary['within_20_percent'])} % within 20 %, "
        f"{round(100 * summary['coverage_95'])} % of the intervals hold it.",
    )
