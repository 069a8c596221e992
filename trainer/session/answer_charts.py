"""Charts of answers that have a distance from the right one: errors of amounts, and pairs in order."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.session.axes import Axis, even_ticks, write_tick
from trainer.session.figure import Figure, Shape
from trainer.session.plots import draw_legend, draw_levels, draw_trial_ticks, leave_room, mark_answer, name_answers


def errors_over_trials(
    errors: Sequence[tuple[float, bool]], unit: str, least: float, planned_trials: int, width: float, height: float
) -> Figure:
    """Draw how far each answer was from the right amount, too much above a line and too little below it.

    Parameters
    ----------
    errors : sequence of (float, bool)
        Signed errors in the unit, and whether each was near enough; may be empty.
    unit : str
        Of the amounts: ``dB``.
    least : float
        What the axis holds to both sides at least, in the unit, above 0.
    planned_trials : int
        Length of the run, 1 or more.
    width, height : float
        Size in design pixels, at least 280 by 120.

    Returns
    -------
    Figure
        Trials and errors evenly.
    """
    reach = max([least, *(abs(error) for error, _ in errors)])
    ticks = even_ticks(-reach, reach, 6)
    words = [write_tick(tick, signed=True) for tick in ticks]
    words[-1] += f" {unit}"
    shapes = _draw_answers(errors, ticks, words, planned_trials, width, height)
    return Figure(width, height, tuple(shapes), f"How far off each answer was, in {unit}; too much is above the line.")


def pairs_over_trials(shares: Sequence[tuple[float, bool]], planned_trials: int, width: float, height: float) -> Figure:
    """Draw how many of its pairs each answer put in order.

    Parameters
    ----------
    shares : sequence of (float, bool)
        0 to 1, and whether all were in order; may be empty.
    planned_trials : int
        Length of the run, 1 or more.
    width, height : float
        Size in design pixels, at least 280 by 120.

    Returns
    -------
    Figure
        Trials and shares evenly.
    """
    words = ["no pair", "half", "all pairs"]
    shapes = _draw_answers(shares, (0.0, 0.5, 1.0), words, planned_trials, width, height)
    return Figure(width, height, tuple(shapes), "Share of pairs in order, for each answer.")


def _draw_answers(
    answers: Sequence[tuple[float, bool]],
    ticks: Sequence[float],
    words: Sequence[str],
    planned_trials: int,
    width: float,
    height: float,
) -> list[Shape]:
    """Draw a mark for each answer at its value, trial by trial."""
    plot = leave_room(words, width, height)
    count = max(planned_trials, len(answers), 1)
    across, down = Axis(0.5, count + 0.5, plot.left, plot.right), Axis(ticks[0], ticks[-1], plot.bottom, plot.top)
    shapes: list[Shape] = [*draw_levels(plot, down, ticks, words, strong=0.0), *draw_trial_ticks(plot, across, count)]
    shapes += [
        mark_answer((across.place(number), down.place(value)), right)
        for number, (value, right) in enumerate(answers, 1)
    ]
    return shapes + draw_legend(name_answers(), plot, height)
