"""Thresholds as rows of a dot and its range, one unit to a group."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.session.axes import Axis, keep_apart, letter_width, write_tick
from trainer.session.figure import Area, Figure, Label, Mark, Path, Shape

_NAME = 15.0
_SMALL = 13.0
_ROW = 34.0
_LINE = 18.0
_HEAD = 26.0
_FOOT = 24.0
_BETWEEN = 14.0
_LEGEND = 24.0
_STUB = 6.0
EMPTY = "After a few answers each skill gets a range here."


@dataclass(frozen=True)
class EarRow:
    """One skill: threshold (None while nothing was heard), 95 % interval, settled or still moving.

    ``usual`` is a usual amount of its own; None for that of its group.
    """

    name: str
    estimate: float | None
    low: float
    high: float
    settled: bool
    usual: float | None = None


@dataclass(frozen=True)
class EarGroup:
    """Skills that share a unit, their usual amount and the ticks of their axis, from low to high."""

    title: str
    unit_text: str
    usual: float
    ticks: tuple[float, ...]
    rows: tuple[EarRow, ...]


def ear_rows(groups: Sequence[EarGroup], width: float) -> Figure:
    """Draw what an ear can tell: a row for each skill, a block for each unit.

    Parameters
    ----------
    groups : sequence of EarGroup
        In their order; ticks two or more, all above 0 for an axis by ratio.
    width : float
        Width in design pixels, at least 300; the height follows from the rows.

    Returns
    -------
    Figure
        Dot: settled estimate; ring: still moving; bar: 95 % interval, with an arrow where it leaves the axis.
    """
    if not any(row.estimate is not None for group in groups for row in group.rows):
        return _say_empty(width)
    names = [row.name for group in groups for row in group.rows]
    name_room = min(max([letter_width(name, _NAME) for name in names], default=0.0), 0.44 * width)
    shapes: list[Shape] = []
    y = 0.0
    for group in groups:
        y = _draw_group(shapes, group, y, name_room, width) + _BETWEEN
    shapes += _legend(y + 8)
    return Figure(width, y + _LEGEND, tuple(shapes), "Thresholds with 95 % intervals, by skill.")


def _draw_group(shapes: list[Shape], group: EarGroup, top: float, name_room: float, width: float) -> float:
    """Draw one group from ``top`` and return where it ends."""
    shapes.append(Label((0, top + 13), group.title, "muted", _SMALL, "bold"))
    shapes.append(Label((width, top + 13), group.unit_text, "muted", _SMALL, anchor="right"))
    ratio = min(*group.ticks, *_list_usual(group)) > 0
    axis = Axis(group.ticks[0], group.ticks[-1], name_room + 24, width - 16, ratio)
    heads = [_wrap(row.name, name_room) for row in group.rows]
    heights = [_ROW + _LINE * (len(lines) - 1) for lines in heads]
    first, last = top + _HEAD, top + _HEAD + sum(heights)
    for low, high in _list_stretches(group, heights, first):
        shapes += [Path(((axis.place(tick), low), (axis.place(tick), high)), "rule", 1.0) for tick in group.ticks]
    y = first
    for row, lines, height in zip(group.rows, heads, heights, strict=True):
        at = axis.place(_find_usual(row, group))
        top_of_line = y if row.estimate is not None else y + height - _STUB
        if row.estimate is not None or row is group.rows[-1]:
            shapes.append(Path(((at, top_of_line), (at, y + height)), "amber", 2.0))
        _draw_row(shapes, row, lines, axis, y + height / 2)
        y += height
    shapes += _tick_words(group, axis, last + 16)
    return last + _FOOT


def _list_stretches(group: EarGroup, heights: Sequence[float], top: float) -> list[tuple[float, float]]:
    """List where the axis' lines run: through rows that were heard, and a little over the ticks' words."""
    last = top + sum(heights)
    stretches: list[tuple[float, float]] = []
    y = top
    for row, height in zip(group.rows, heights, strict=True):
        if row.estimate is not None and stretches and stretches[-1][1] == y:
            stretches[-1] = (stretches[-1][0], y + height)
        elif row.estimate is not None:
            stretches.append((y, y + height))
        y += height
    ended = bool(stretches) and stretches[-1][1] == last
    return stretches if ended else [*stretches, (last - _STUB, last)]


def _draw_row(shapes: list[Shape], row: EarRow, lines: Sequence[str], axis: Axis, middle: float) -> None:
    """Draw one skill around the height ``middle``."""
    start = middle + 5 - _LINE * (len(lines) - 1) / 2
    for index, line in enumerate(lines):
        shapes.append(Label((0, start + _LINE * index), line, "ink", _NAME))
    if row.estimate is None:
        shapes.append(Label((axis.start, middle + 4), "not yet heard", "muted", _SMALL))
        return
    low, high = axis.place(row.low), axis.place(row.high)
    shapes.append(Path(((low, middle), (high, middle)), "blue", 3.0))
    if row.low < axis.low * (1 - 1e-9):
        shapes.append(_arrow(low, middle, -1))
    if row.high > axis.high * (1 + 1e-9):
        shapes.append(_arrow(high, middle, 1))
    at = (axis.place(row.estimate), middle)
    if row.settled:
        shapes.append(Mark(at, "blue", 6.0))
    else:
        shapes += [Mark(at, "sheet", 6.0), Mark(at, "blue", 6.0, "ring")]


def _arrow(x: float, y: float, way: int) -> Area:
    """Give the arrowhead of a bar that goes on beyond the axis."""
    return Area(((x, y - 5), (x + 8 * way, y), (x, y + 5)), "blue")


def _find_usual(row: EarRow, group: EarGroup) -> float:
    """Give the usual amount of a row."""
    return group.usual if row.usual is None else row.usual


def _list_usual(group: EarGroup) -> set[float]:
    """List the usual amounts of a group's rows."""
    return {_find_usual(row, group) for row in group.rows} or {group.usual}


def _say_empty(width: float) -> Figure:
    """Say once that nothing was heard yet: scales without data would say it in every row."""
    lines = _wrap(EMPTY, width)
    shapes = tuple(Label((0, _LINE * number - 4), line, "muted", _NAME) for number, line in enumerate(lines, 1))
    return Figure(width, _LINE * len(lines) + 4, shapes, EMPTY)


def _tick_words(group: EarGroup, axis: Axis, baseline: float) -> list[Shape]:
    """Write the ticks, the usual amounts in bold whether or not they are among them."""
    usual = _list_usual(group)
    values = sorted({*group.ticks, *usual})
    words = [write_tick(value) for value in values]
    places = [axis.place(value) for value in values]
    bold = {index for index, value in enumerate(values) if value in usual}
    kept = keep_apart(places, [letter_width(word, _SMALL) for word in words], 6, first=bold)
    return [
        Label(
            (place, baseline),
            word,
            "amber" if index in bold else "muted",
            _SMALL,
            "bold" if index in bold else "regular",
            "middle",
        )
        for index, (place, word, written) in enumerate(zip(places, words, kept, strict=True))
        if written
    ]


def _wrap(name: str, room: float) -> list[str]:
    """Break a name into lines that fit; a single long word stays whole."""
    lines: list[str] = []
    for word in name.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and letter_width(longer, _NAME) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines or [""]


def _legend(y: float) -> list[Shape]:
    """Write what dot, ring, bar and amber line stand for."""
    return [
        Mark((5, y), "blue", 5.0),
        Label((16, y + 4), "settled", "muted", 12.0),
        Mark((79, y), "blue", 5.0, "ring"),
        Label((90, y + 4), "still moving", "muted", 12.0),
        Path(((180, y), (200, y)), "blue", 3.0),
        Label((207, y + 4), "95 %", "muted", 12.0),
        Path(((253, y - 7), (253, y + 7)), "amber", 2.0),
        Label((261, y + 4), "a usual amount", "muted", 12.0),
    ]
