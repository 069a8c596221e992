"""Thresholds as pictures: one over the days of practice, and all of them on one sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from trainer.exercise.history import Standing
from trainer.session.axes import Axis, keep_apart, letter_width, write_tick
from trainer.session.figure import Area, Figure, Label, Mark, Path, Shape
from trainer.session.progress_place_state import Course, DayPoint
from trainer.session.scales import choose_scale, draw_scale, word_tick
from trainer.session.today import draw_ears
from trainer.session.words import write_span

_SMALL = 12.0
_TOP, _RIGHT, _BOTTOM = 9.0, 28.0, 52.0
_HEAD = 34.0
_BETWEEN = 26.0
_DAY_STEPS = (1, 2, 7, 14, 28, 56, 91, 182, 364, 728)


def draw_course(course: Course, width: float, height: float) -> Figure:
    """Draw a threshold over the days of practice with its 95 % band, and the usual amount.

    Parameters
    ----------
    course : Course
        One point or more, all above 0.
    width, height : float
        Size in design pixels, at least 360 by 180.

    Returns
    -------
    Figure
        Days evenly, amounts by ratio. Dot: settled; ring: still moving; the band is cut at the ends of the axis.
    """
    points, amount = course.points, course.drill.amount
    ticks = _choose_ticks(points, amount.usual, max(3, int((height - 60) // 20)))
    words = [*(word_tick(tick, amount.unit) for tick in (*ticks, amount.usual)), "usual"]
    left = math.ceil(max(letter_width(word, _SMALL) for word in words) + 8)
    right, bottom = width - _RIGHT, height - _BOTTOM
    down = Axis(ticks[0], ticks[-1], bottom, _TOP, ratio=True)
    first, last = points[0].day, points[-1].day
    across = Axis(first - 0.5, last + 0.5, left + 8, right)
    shapes = draw_scale(ticks, amount.unit, amount.usual, left, right, down)
    shapes += _day_ticks(first, last, across, bottom)
    shapes += _draw_points(points, across, down)
    shapes += _legend(left, height - 10)
    return Figure(width, height, tuple(shapes), describe_course(course))


def describe_course(course: Course) -> str:
    """Say in words what the picture over the days shows."""
    unit = course.drill.amount.unit
    said = [f"{_write_day(point.day)} {write_span(point.estimate, unit)}" for point in course.points]
    usual = f"a usual amount is {write_tick(course.drill.amount.usual)} {unit}"
    return f"{course.drill.title}, 95 % ranges at the end of each day: {'; '.join(said)}. For comparison, {usual}."


def draw_standings(standings: Sequence[Standing], width: float) -> Figure:
    """Draw where the ear stands in several skills, one unit to a group, with the usual amounts; said in words too."""
    said = [
        f"{each.drill.title} {write_span(each.track.estimate(), each.drill.amount.unit)}, "
        f"usual {write_tick(each.drill.amount.usual)}"
        for each in standings
    ]
    return replace(draw_ears(standings, width), described=f"95 % ranges: {'; '.join(said)}.")


def draw_sheet(title: str, blocks: Sequence[tuple[str, Sequence[Standing]]], width: float) -> Figure:
    """Draw all thresholds on one sheet: under a title a block for each pair of conditions.

    Parameters
    ----------
    title : str
        At the top.
    blocks : sequence of (str, sequence of Standing)
        Conditions in words, and where the ear stands under them; one or more.
    width : float
        Width in design pixels, at least 300; the height follows.
    """
    shapes: list[Shape] = [Label((0, 18), title, "ink", 20.0)]
    y, said = _HEAD, []
    for conditions, standings in blocks:
        shapes.append(Label((0, y + 14), conditions, "ink", 15.0, "bold"))
        figure = draw_standings(standings, width)
        shapes += [_shift(shape, y + _HEAD - 6) for shape in figure.shapes]
        y += _HEAD + figure.height + _BETWEEN
        said.append(f"{conditions}. {figure.described}")
    return Figure(width, y - _BETWEEN, tuple(shapes), f"{title}. {' '.join(said)}")


def _choose_ticks(points: Sequence[DayPoint], usual: float, most: int) -> tuple[float, ...]:
    """Choose ticks that hold every estimate and the last interval, as far as it can be tested."""
    last = points[-1].estimate
    held = [usual, *(point.estimate.median for point in points)]
    held += [last.low] if last.edge != "low" else []
    held += [last.high] if last.edge != "high" else []
    return choose_scale(held, usual, most)[0]


def _draw_points(points: Sequence[DayPoint], across: Axis, down: Axis) -> list[Shape]:
    """Draw the band, the line through the estimates, and a mark for each day."""
    days = [points[0].day - 0.5, *(point.day for point in points), points[-1].day + 0.5]
    ends = [points[0], *points, points[-1]]
    upper = [(across.place(day), down.place(end.estimate.high)) for day, end in zip(days, ends, strict=True)]
    lower = [(across.place(day), down.place(end.estimate.low)) for day, end in zip(days, ends, strict=True)]
    shapes: list[Shape] = [Area(tuple(upper + lower[::-1]), "blue", 0.2)]
    middle = tuple((across.place(point.day), down.place(point.estimate.median)) for point in points)
    shapes += [Path(middle, "blue", 2.0)] if len(middle) > 1 else []
    for at, point in zip(middle, points, strict=True):
        if point.estimate.settled:
            shapes.append(Mark(at, "blue", 4.0))
        else:
            shapes += [Mark(at, "sheet", 4.0), Mark(at, "blue", 4.0, "ring")]
    return shapes


def _day_ticks(first: int, last: int, across: Axis, bottom: float) -> list[Shape]:
    """Mark the first day and every so many days from it, with dates as far as there is room."""
    most = max(1, int((across.end - across.start) // 70))
    step = next((step for step in _DAY_STEPS if (last - first) / step <= most), 1456)
    days = range(first, last + 1, step)
    words = [_write_day(day) for day in days]
    places = [across.place(day) for day in days]
    kept = keep_apart(places, [letter_width(word, _SMALL) for word in words], 6)
    shapes: list[Shape] = []
    for place, word, written in zip(places, words, kept, strict=True):
        shapes.append(Path(((place, bottom), (place, bottom + 4)), "muted", 1.0))
        shapes += [Label((place, bottom + 18), word, "muted", _SMALL, anchor="middle")] if written else []
    return shapes


def _write_day(day: int) -> str:
    """Write a date as a standard has it (ISO 8601)."""
    return date.fromordinal(day).isoformat()


def _legend(left: float, y: float) -> list[Shape]:
    """Write what dot, ring and band stand for."""
    return [
        Mark((left + 5, y - 4), "blue", 4.0),
        Label((left + 16, y), "settled", "muted", _SMALL),
        Mark((left + 79, y - 4), "blue", 4.0, "ring"),
        Label((left + 90, y), "still moving", "muted", _SMALL),
        Area(((left + 180, y - 9), (left + 200, y - 9), (left + 200, y + 1), (left + 180, y + 1)), "blue", 0.2),
        Label((left + 207, y), "95 % range", "muted", _SMALL),
    ]


def _shift(shape: Shape, down: float) -> Shape:
    """Move a shape down."""
    if isinstance(shape, (Mark, Label)):
        return replace(shape, at=(shape.at[0], shape.at[1] + down))
    return replace(shape, points=tuple((x, y + down) for x, y in shape.points))
