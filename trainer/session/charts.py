"""Charts of what was done and of how an ear stands, as figures with axes and units."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.session.axes import Axis, even_ticks, write_tick
from trainer.session.figure import Area, Figure, Mark, Path, Shape
from trainer.session.plots import (
    Plot,
    draw_bottom_ticks,
    draw_legend,
    draw_levels,
    draw_trial_ticks,
    leave_room,
    mark_answer,
    name_answers,
)
from trainer.session.scales import choose_scale, draw_scale, word_tick

_LIMIT_DB = 24.0
_DEEPEST_DB = 60.0
_FREQUENCIES_HZ = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000)


@dataclass(frozen=True)
class EarPoint:
    """One trial and what was known after it: amount asked, answer, threshold with its 95 % interval."""

    amount: float
    correct: bool
    estimate: float
    low: float
    high: float


def frequency_response(
    measured: Sequence[tuple[float, float]],
    asked: Sequence[tuple[float, float]],
    width: float,
    height: float,
) -> Figure:
    """Draw a change over frequency: what was asked as a line, what was measured as dots.

    Parameters
    ----------
    measured, asked : sequence of (float, float)
        Frequency in Hz (20–20 000; others are left out) and change in dB; either may be empty.
    width, height : float
        Size in design pixels, at least 280 by 160.

    Returns
    -------
    Figure
        Frequency by ratio from 20 Hz to 20 kHz, dB evenly; ticks contain the data up to ±24 dB and hold 0 dB.
    """
    dots, line = _within_hearing(measured), _within_hearing(asked)
    levels = [min(max(level, -_LIMIT_DB), _LIMIT_DB) for _, level in dots + line]
    ticks = even_ticks(min([*levels, -1.0]), max([*levels, 1.0]), max(2, int((height - 60) // 36)))
    words = [write_tick(tick, signed=True) for tick in ticks]
    words[-1] += " dB"
    plot = leave_room(words, width, height)
    across = Axis(20, 20000, plot.left, plot.right, ratio=True)
    down = Axis(ticks[0], ticks[-1], plot.bottom, plot.top)
    shapes: list[Shape] = [
        *draw_levels(plot, down, ticks, words, strong=0.0),
        *_frequency_ticks(plot, across),
    ]
    if len(line) > 1:
        shapes.append(Path(tuple((across.place(x), down.place(y)) for x, y in line), "blue", 2.0))
    shapes += [Mark((across.place(x), down.place(y)), "ink", 3.0) for x, y in dots]
    named: list[tuple[Shape, str]] = [(Path(((0, 0), (20, 0)), "blue", 2.0), "asked")] if line else []
    named += [(Mark((10, 0), "ink", 3.0), "measured")] if dots else []
    shapes += draw_legend(named, plot, height)
    return Figure(width, height, tuple(shapes), "Change in dB over frequency, asked and measured.")


def gain_reduction(times_s: Sequence[float], reduction_db: Sequence[float], width: float, height: float) -> Figure:
    """Draw how far the level was turned down over the loop, 0 dB on top.

    Parameters
    ----------
    times_s : sequence of float
        Times in s, rising.
    reduction_db : sequence of float
        Reduction in dB at those times, 0 or more, as many.
    width, height : float
        Size in design pixels, at least 280 by 120.

    Returns
    -------
    Figure
        Time evenly, gain from 0 dB downwards.
    """
    deepest = max([*reduction_db, 1.0])
    ticks = even_ticks(-deepest, 0.0, max(2, int((height - 40) // 36)))
    words = [write_tick(tick) for tick in ticks]
    words[-1] = "0 dB"
    shapes = _course(times_s, [-amount for amount in reduction_db], ticks, words, width, height, from_top=True)
    return Figure(width, height, tuple(shapes), "Gain reduction in dB over time in seconds.")


def level_over_time(times_s: Sequence[float], levels_db: Sequence[float], width: float, height: float) -> Figure:
    """Draw how loud something that was added is over the loop, in dB against the song.

    Parameters
    ----------
    times_s : sequence of float
        Times in s, rising.
    levels_db : sequence of float
        Levels in dB at those times, as many; what is more than 60 dB below the highest is drawn there.
    width, height : float
        Size in design pixels, at least 280 by 120.

    Returns
    -------
    Figure
        Time and level evenly.
    """
    finite = [level for level in levels_db if math.isfinite(level)]
    top = max([*finite, -60.0]) if finite else 0.0
    floor = top - _DEEPEST_DB
    held = [max(level, floor) if math.isfinite(level) else floor for level in levels_db]
    ticks = even_ticks(min([*held, top - 6.0]), top, max(2, int((height - 40) // 36)))
    words = [write_tick(tick) for tick in ticks]
    words[-1] += " dB"
    shapes = _course(times_s, held, ticks, words, width, height)
    return Figure(width, height, tuple(shapes), "Level in dB against the song over time in seconds.")


def ear_over_trials(
    points: Sequence[EarPoint],
    unit: str,
    usual: float,
    planned_trials: int,
    width: float,
    height: float,
    largest: float | None = None,
) -> Figure:
    """Draw the amounts asked trial by trial, the answers, and the threshold with its 95 % interval.

    Parameters
    ----------
    points : sequence of EarPoint
        Trials in order; may be empty.
    unit : str
        Of the amounts: ``dB``.
    usual : float
        A usual amount of the trade, drawn as a labelled line.
    planned_trials : int
        Length of the run, 1 or more.
    width, height : float
        Size in design pixels, at least 280 by 180.
    largest : float or None
        The largest amount that can be asked; the scale ends at the next round one.

    Returns
    -------
    Figure
        Trials evenly, amounts by ratio (evenly if one is not above 0). Estimate and interval are cut at the ends.
    """
    held = [each for p in points for each in (p.amount, p.estimate)]
    held += [points[-1].low, points[-1].high] if points else []
    ticks, ratio = choose_scale(held, usual, max(3, int((height - 60) // 20)), largest)
    plot = leave_room([*(word_tick(tick, unit) for tick in (*ticks, usual)), "usual"], width, height)
    down = Axis(ticks[0], ticks[-1], plot.bottom, plot.top, ratio)
    count = max(planned_trials, len(points), 1)
    across = Axis(0.5, count + 0.5, plot.left, plot.right)
    shapes = draw_scale(ticks, unit, usual, plot.left, plot.right, down)
    shapes += draw_trial_ticks(plot, across, count)
    shapes += _band(points, across, down)
    shapes += _estimates(points, across, down)
    shapes += [mark_answer((across.place(i + 1), down.place(p.amount)), p.correct) for i, p in enumerate(points)]
    named: list[tuple[Shape, str]] = [
        *name_answers(),
        (Path(((0, 0), (20, 0)), "blue", 2.0), "estimate"),
        (Area(((0, -5), (20, -5), (20, 5), (0, 5)), "blue", 0.2), "95 % range"),
    ]
    shapes += draw_legend(named, plot, height)
    return Figure(width, height, tuple(shapes), f"Amounts in {unit}, answers and threshold over the trials.")


def _course(
    times_s: Sequence[float],
    levels_db: Sequence[float],
    ticks: Sequence[float],
    words: Sequence[str],
    width: float,
    height: float,
    from_top: bool = False,
) -> list[Shape]:
    """Draw levels over time with both axes, filled down to the bottom, or up to 0 dB on top."""
    plot = leave_room(words, width, height, legend=False)
    start, end = (times_s[0], times_s[-1]) if len(times_s) > 1 else (0.0, 1.0)
    across, down = Axis(start, end, plot.left, plot.right), Axis(ticks[0], ticks[-1], plot.bottom, plot.top)
    lines = draw_levels(plot, down, ticks, words, strong=0.0 if from_top else None)
    shapes: list[Shape] = [*lines, *_second_ticks(plot, across)]
    thinned = _thin_out(times_s, levels_db, int(plot.right - plot.left))
    curve = tuple((across.place(time), down.place(level)) for time, level in thinned)
    if len(curve) > 1:
        edge = plot.top if from_top else plot.bottom
        outline = ((curve[0][0], edge), *curve, (curve[-1][0], edge))
        shapes += [Area(outline, "blue", 0.16), Path(curve, "blue", 1.5)]
    return shapes


def _within_hearing(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Keep finite points between 20 Hz and 20 kHz."""
    return [(x, y) for x, y in points if 20 <= x <= 20000 and math.isfinite(y)]


def _frequency_ticks(plot: Plot, axis: Axis) -> list[Shape]:
    """Mark the frequencies of the trade from 20 Hz to 20 kHz."""
    words = [str(hz) if hz < 1000 else f"{hz // 1000}k" for hz in _FREQUENCIES_HZ]
    words[0] = "20 Hz"
    return draw_bottom_ticks(plot, [axis.place(hz) for hz in _FREQUENCIES_HZ], words)


def _second_ticks(plot: Plot, axis: Axis) -> list[Shape]:
    """Mark whole or round seconds."""
    most = max(1, int((plot.right - plot.left) // 64))
    inside = [tick for tick in even_ticks(axis.low, axis.high, most) if axis.low <= tick <= axis.high]
    words = [write_tick(tick) + (" s" if index == len(inside) - 1 else "") for index, tick in enumerate(inside)]
    return draw_bottom_ticks(plot, [axis.place(tick) for tick in inside], words)


def _thin_out(times: Sequence[float], values: Sequence[float], columns: int) -> list[tuple[float, float]]:
    """Keep the least and the largest value of each pixel column, in their order."""
    if len(times) <= 2 * columns:
        return list(zip(times, values, strict=True))
    kept: list[tuple[float, float]] = []
    for column in range(columns):
        first, last = column * len(times) // columns, (column + 1) * len(times) // columns
        inside = range(first, last)
        pair = {min(inside, key=values.__getitem__), max(inside, key=values.__getitem__)}
        kept += [(times[index], values[index]) for index in sorted(pair)]
    return kept


def _band(points: Sequence[EarPoint], across: Axis, down: Axis) -> list[Shape]:
    """Fill the 95 % interval from the first trial to the last, half a trial wider at both ends."""
    if not points:
        return []
    at = [0.5, *(index + 1.0 for index in range(len(points))), len(points) + 0.5]
    ends = [points[0], *points, points[-1]]
    upper = [(across.place(x), down.place(p.high)) for x, p in zip(at, ends, strict=True)]
    lower = [(across.place(x), down.place(p.low)) for x, p in zip(at, ends, strict=True)]
    return [Area(tuple(upper + lower[::-1]), "blue", 0.2)]


def _estimates(points: Sequence[EarPoint], across: Axis, down: Axis) -> list[Shape]:
    """Draw the estimates as a line, cut where they leave the axis: along its end they would be read as values."""
    stretches: list[list[tuple[float, float]]] = [[]]
    for number, point in enumerate(points, 1):
        if down.low <= point.estimate <= down.high:
            stretches[-1].append((across.place(number), down.place(point.estimate)))
        else:
            stretches.append([])
    drawn = [tuple(each) if len(each) > 1 else _dash(each[0]) for each in stretches if each]
    return [Path(each, "blue", 2.0) for each in drawn]


def _dash(at: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """Give a short level line, for an estimate after one trial only."""
    return ((at[0] - 6, at[1]), (at[0] + 6, at[1]))
