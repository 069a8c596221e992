"""Charts of a decision sheet as figures that hold in black and white."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.decisions.sheet_pictures import EqualiserCurve, RungCosts
from trainer.session.axes import Axis, even_ticks, keep_apart, letter_width, write_tick
from trainer.session.figure import Colour, Figure, Label, Mark, Path, Shape

SMALL = 12.0
TOP, BOTTOM, RIGHT = 18.0, 26.0, 16.0
FREQUENCIES_HZ = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000)
LINE_HEIGHT = 18.0
LIMIT_DB = 24.0
MARKS: tuple[tuple[str, Colour], ...] = (("dot", "ink"), ("ring", "blue"), ("cross", "vermilion"))


def draw_equaliser(curve: EqualiserCurve, width: float, height: float) -> Figure:
    """Draw the sum of all kept filters as a strong line, and each by itself as a thin one.

    Parameters
    ----------
    curve : EqualiserCurve
        Hz and dB.
    width, height : float
        Size in design pixels, at least 280 by 160.

    Returns
    -------
    Figure
        Frequency by ratio from 20 Hz to 20 kHz, dB evenly; deeper than 24 dB is not drawn.
    """
    levels = [min(max(gain, -LIMIT_DB), LIMIT_DB) for _, gain in curve.whole]
    ticks = even_ticks(min([*levels, -1.0]), max([*levels, 1.0]), max(2, int((height - 60) // 30)))
    left, right, bottom = _left(ticks), width - RIGHT, height - BOTTOM
    across, down = Axis(20.0, 20000.0, left, right, ratio=True), Axis(ticks[0], ticks[-1], bottom, TOP)
    shapes = _level_lines(ticks, " dB", down, left, right)
    for _, points in curve.each if len(curve.each) > 1 else ():
        shapes.append(_line(points, across, down, "muted", 1.0))
    shapes.append(_line(curve.whole, across, down, "ink", 2.5))
    words = ["20 Hz", *(str(hz) if hz < 1000 else f"{hz // 1000}k" for hz in FREQUENCIES_HZ[1:])]
    shapes += _ticks_below([across.place(hz) for hz in FREQUENCIES_HZ], words, bottom)
    return Figure(width, height, tuple(shapes), "Change in dB over frequency by all kept filters together.")


def draw_rung_costs(costs: RungCosts, names: Sequence[str], width: float, height: float) -> Figure:
    """Draw what each loudness costs: a line with its own marks for each cost, and the chosen rung.

    Parameters
    ----------
    costs : RungCosts
        LUFS and dB, rungs in rising order.
    names : sequence of str
        What the costs are called.
    width, height : float
        Size in design pixels, at least 280 by 200.

    Returns
    -------
    Figure
        Loudness and dB evenly; the names stand at the foot beside their marks.
    """
    values = [value for _, row in costs.costs_db for value in row]
    ticks = even_ticks(min([*values, 0.0]), max([*values, 1.0]), max(2, int((height - 90) // 30)))
    bottom = height - BOTTOM - LINE_HEIGHT * len(costs.costs_db)
    left, right = _left(ticks), width - RIGHT - 24
    low, high = costs.reached_lufs[0], costs.reached_lufs[-1]
    across = Axis(low, max(high, low + 0.1), left + 24, right)
    down = Axis(ticks[0], ticks[-1], bottom, TOP)
    shapes = _level_lines(ticks, " dB", down, left, right + 24)
    places = [across.place(value) for value in costs.reached_lufs]
    if costs.chosen is not None:
        x = places[costs.chosen]
        shapes += [
            Path(((x, TOP), (x, bottom)), "amber", 2.0),
            Label((x, TOP - 5), "chosen", "ink", SMALL, "bold", "middle"),
        ]
    for index, (_, row) in enumerate(costs.costs_db):
        mark, colour = MARKS[index % len(MARKS)]
        points = [(x, down.place(value)) for x, value in zip(places, row, strict=True)]
        shapes.append(Path(tuple(points), colour, 1.0))
        shapes += [Mark(point, colour, 4.5, mark) for point in points]  # type: ignore[arg-type]
        y = bottom + BOTTOM + LINE_HEIGHT * (index + 0.6)
        shapes += [Mark((left + 6, y - 4), colour, 4.5, mark), Label((left + 18, y), names[index], "ink", SMALL)]  # type: ignore[arg-type]
    words = [write_tick(round(value, 1)) for value in costs.reached_lufs]
    words[-1] += " LUFS"
    shapes += _ticks_below(places, words, bottom)
    return Figure(width, height, tuple(shapes), "What each loudness costs, in dB.")


def _left(ticks: Sequence[float]) -> float:
    return max(letter_width(write_tick(tick) + " dB", SMALL) for tick in ticks) + 10


def _line(points: Sequence[tuple[float, float]], across: Axis, down: Axis, colour: Colour, width: float) -> Path:
    return Path(tuple((across.place(x), down.place(y)) for x, y in points), colour, width)


def _level_lines(ticks: Sequence[float], unit: str, down: Axis, left: float, right: float) -> list[Shape]:
    """Draw a rule and a word for each tick, the one of 0 darker; the unit stands at the highest."""
    shapes: list[Shape] = []
    for tick in ticks:
        y = down.place(tick)
        shapes.append(Path(((left, y), (right, y)), "muted" if tick == 0 else "rule", 1.0))
        word = write_tick(tick) + (unit if tick == ticks[-1] else "")
        shapes.append(Label((left - 8, y + 4), word, "muted", SMALL, anchor="right"))
    return shapes


def _ticks_below(places: Sequence[float], words: Sequence[str], bottom: float) -> list[Shape]:
    """Draw short ticks below, and their words where there is room."""
    kept = keep_apart(places, [letter_width(word, SMALL) for word in words], 6)
    shapes: list[Shape] = []
    for place, word, written in zip(places, words, kept, strict=True):
        shapes.append(Path(((place, bottom), (place, bottom + 4)), "muted", 1.0))
        if written:
            shapes.append(Label((place, bottom + 18), word, "muted", SMALL, anchor="middle"))
    return shapes
