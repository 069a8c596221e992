"""Figures of a bus compressor's settings: which fit, how the gain moves with one of them, the releases that fit."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.decisions.compressor_settings import RELEASES_MS, SettingGrid, SettingTried
from trainer.session.axes import Axis, even_ticks, write_tick
from trainer.session.figure import Area, Figure, Label, Mark, Path, Shape
from trainer.units import write_frequency, write_number

# Drawn in half of a page the words come out as large as a page's muted text, also in the smallest window.
WIDTH, WORDS = 640.0, 18.0
LEFT, HEAD, ROW, FOOT = 112.0, 30.0, 36.0, 40.0
CELL = 96.0
COURSE_HEIGHT, COURSE_LEFT, COURSE_HITS, COURSE_FOOT = 210.0, 64.0, 26.0, 30.0
# About two bars, from a little before the first hit.
SHOWN_S, BEFORE_S = 4.0, 0.1
WINDOW_LEFT, WINDOW_RIGHT, WINDOW_Y = 12.0, 40.0, 18.0


def draw_map(grid: SettingGrid, place: int) -> Figure:
    """Draw every setting as a mark: releases across, side-chain filters down; a frame around the one looked at."""
    shapes: list[Shape] = []
    for column, release_ms in enumerate(grid.releases_ms):
        unit = " ms" if column == len(grid.releases_ms) - 1 else ""
        words = f"{write_number(release_ms, 0)}{unit}"
        shapes.append(Label((_across(column), HEAD - 10), words, "muted", WORDS, anchor="middle"))
    for row, corner_hz in enumerate(grid.corners_hz):
        shapes.append(Label((0.0, _down(row) + 6), name_corner(corner_hz), "muted", WORDS))
    for number, tried in enumerate(grid.tried):
        row, column = divmod(number, len(grid.releases_ms))
        x, y = _across(column), _down(row)
        if number == place:
            left, right, up, down = x - CELL / 2 + 6, x + CELL / 2 - 6, y - ROW / 2 + 3, y + ROW / 2 - 3
            shapes.append(Path(((left, up), (right, up), (right, down), (left, down), (left, up)), "blue", 2.0))
        shapes += _mark(grid, tried, x, y)
    height = HEAD + ROW * len(grid.corners_hz) + FOOT
    return Figure(WIDTH, height, (*shapes, *_explain(height - 12)), describe_map(grid))


def describe_map(grid: SettingGrid) -> str:
    """Say which releases fit behind each filter."""
    said = []
    for corner_hz in grid.corners_hz:
        fitting = [write_number(each.release_ms, 0) for each in grid.list_fitting(corner_hz)]
        words = f"{fitting[0]} to {fitting[-1]} ms" if len(fitting) > 1 else f"{fitting[0]} ms" if fitting else "none"
        said.append(f"{name_corner(corner_hz)}: {words}")
    return f"Releases that fit, {'; '.join(said)}."


def draw_course(grid: SettingGrid, tried: SettingTried) -> Figure:
    """Draw how far a setting turns the loop down over a few bars, on one scale for all settings; hits on top."""
    start_s, end_s = _choose_part(grid)
    first, last = round(start_s / grid.step_s), round(end_s / grid.step_s)
    deepest = max((max(each.course_db[first:last], default=0.0) for each in grid.tried), default=1.0)
    ticks = even_ticks(-max(deepest, 0.5), 0.0, 3)
    top, bottom = COURSE_HITS, COURSE_HEIGHT - COURSE_FOOT
    across, down = Axis(0.0, end_s - start_s, COURSE_LEFT, WIDTH - 24), Axis(ticks[0], ticks[-1], bottom, top)
    shapes: list[Shape] = []
    for tick in ticks:
        y = down.place(tick)
        shapes.append(Path(((across.start, y), (across.end, y)), "rule" if tick else "muted", 1.0))
        words = write_tick(tick) if tick else "0 dB"
        shapes.append(Label((COURSE_LEFT - 8, y + 6), words, "muted", WORDS, anchor="right"))
    part = tried.course_db[first:last]
    curve = tuple((across.place(number * grid.step_s), down.place(-value)) for number, value in enumerate(part))
    if len(curve) > 1:
        outline = ((curve[0][0], top), *curve, (curve[-1][0], top))
        shapes += [Area(outline, "blue", 0.16), Path(curve, "blue", 2.0)]
    for letter, places in (("S", grid.snares_s), ("K", grid.kicks_s)):
        inside = [across.place(place - start_s) for place in places if start_s <= place < end_s]
        shapes += [Label((x, top - 8), letter, "ink", WORDS - 3, anchor="middle") for x in inside]
    for tick in even_ticks(0.0, end_s - start_s, 4):
        if tick <= end_s - start_s:
            words = f"{write_tick(tick)} s" if tick else "0"
            shapes.append(Label((across.place(tick), COURSE_HEIGHT - 8), words, "muted", WORDS, anchor="middle"))
    said = "Gain reduction in dB over time in seconds; S snare, K kick."
    return Figure(WIDTH, COURSE_HEIGHT, tuple(shapes), said)


def draw_window(release_ms: float, low_ms: float, high_ms: float) -> Figure:
    """Draw the releases that fit as a bar, and a candidate's own as a dot; open where it lies outside."""
    axis = Axis(RELEASES_MS[0], RELEASES_MS[-1], WINDOW_LEFT, WIDTH - WINDOW_RIGHT, ratio=True)
    shapes: list[Shape] = []
    for tick in RELEASES_MS:
        x = axis.place(tick)
        shapes.append(Path(((x, 4), (x, 2 * WINDOW_Y - 4)), "rule", 1.0))
        unit = " ms" if tick == RELEASES_MS[-1] else ""
        words = f"{write_number(tick, 0)}{unit}"
        shapes.append(Label((x, 2 * WINDOW_Y + 18), words, "muted", WORDS, anchor="middle"))
    shapes.append(Path(((axis.place(low_ms), WINDOW_Y), (axis.place(high_ms), WINDOW_Y)), "blue", 4.0))
    inside = low_ms <= release_ms <= high_ms
    shapes.append(Mark((axis.place(release_ms), WINDOW_Y), "blue", 8.0, "dot" if inside else "ring"))
    fits = f"from {write_number(low_ms, 0)} to {write_number(high_ms, 0)} ms" if low_ms < high_ms else "only one"
    said = f"Releases that fit: {fits}; this one: {write_number(release_ms, 0)} ms."
    return Figure(WIDTH, 2 * WINDOW_Y + 28, tuple(shapes), said)


def name_corner(corner_hz: float) -> str:
    """Name a side-chain filter."""
    return write_frequency(corner_hz) if corner_hz else "no filter"


def _across(column: int) -> float:
    return LEFT + CELL * (column + 0.5)


def _down(row: int) -> float:
    return HEAD + ROW * (row + 0.5)


def _mark(grid: SettingGrid, tried: SettingTried, x: float, y: float) -> list[Shape]:
    """Mark one setting; a kick that steers goes beside the mark."""
    troubles = grid.find_troubles(tried)
    shapes: list[Shape] = []
    if "held_down" in troubles:
        shapes.append(Mark((x, y), "vermilion", 7.0, "ring"))
    if "rough" in troubles:
        shapes.append(Mark((x, y), "vermilion", 5.0, "cross"))
    if not {"held_down", "rough"} & set(troubles):
        shapes.append(Mark((x, y), "green", 7.0))
    if "kick_steers" in troubles:
        shapes.append(Label((x + 16, y + 5), "K", "ink", WORDS - 3))
    return shapes


def _explain(y: float) -> Sequence[Shape]:
    """Write what the marks stand for."""
    return (
        Mark((8, y - 6), "green", 7.0),
        Label((22, y), "fits", "muted", WORDS),
        Mark((88, y - 6), "vermilion", 7.0, "ring"),
        Label((102, y), "held down", "muted", WORDS),
        Mark((222, y - 6), "vermilion", 5.0, "cross"),
        Label((236, y), "rough bass", "muted", WORDS),
        Label((360, y), "K", "ink", WORDS - 3),
        Label((378, y), "the kick steers", "muted", WORDS),
    )


def _choose_part(grid: SettingGrid) -> tuple[float, float]:
    """Choose what is shown of the loop, s: from its first hit on, where that leaves enough."""
    whole_s = len(grid.tried[0].course_db) * grid.step_s
    length_s = min(SHOWN_S, whole_s)
    first_s = max(0.0, min((*grid.snares_s, *grid.kicks_s), default=0.0) - BEFORE_S)
    first_s = min(first_s, whole_s - length_s)
    return first_s, first_s + length_s
