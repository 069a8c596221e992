"""Charts of a whole file: its wave with faults marked, its loudness against a target, its spectrum."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.session.axes import Axis, even_ticks, keep_apart, letter_width, write_tick
from trainer.session.figure import Area, Figure, Label, Mark, Path, Shape
from trainer.units import write_number, write_time

_SMALL = 12.0
_RIGHT, _BOTTOM, _TOP = 14.0, 26.0, 22.0
_FREQUENCIES_HZ = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000)
_FLOOR_DB = -90.0


def wave_with_faults(
    peaks: Sequence[Sequence[float]],
    faults: Sequence[tuple[str, float, float]],
    duration_s: float,
    width: float,
    height: float,
) -> Figure:
    """Draw the peaks of each channel over time, and mark each fault with a cross and its name.

    Parameters
    ----------
    peaks : sequence of sequence of float
        For each channel, highest magnitudes of equal parts of the file; full scale is 1.0.
    faults : sequence of (str, float, float)
        Name, start and end, s.
    duration_s : float
        Length of the file.
    width, height : float
        Size in design pixels, at least 280 by 160.

    Returns
    -------
    Figure
        Time evenly, a lane to each channel; names are left out where they would touch.
    """
    left, right, bottom = 52.0, width - _RIGHT, height - _BOTTOM
    across = Axis(0.0, max(duration_s, 1e-3), left, right)
    lane = (bottom - _TOP) / max(1, len(peaks))
    names = ("mono",) if len(peaks) == 1 else ("left", "right")
    shapes: list[Shape] = []
    for index, row in enumerate(peaks):
        middle, half = _TOP + lane * (index + 0.5), 0.46 * lane
        xs = [left + (right - left) * (place + 0.5) / max(1, len(row)) for place in range(len(row))]
        upper = [(x, middle - half * min(1.0, value)) for x, value in zip(xs, row, strict=True)]
        lower = [(x, 2 * middle - y) for x, y in upper]
        shapes += [Path(((left, middle), (right, middle)), "rule", 1.0)]
        shapes += [Area(tuple(upper + lower[::-1]), "blue", 0.55)] if len(upper) > 1 else []
        shapes += [Label((left - 8, middle + 4), names[index], "muted", _SMALL, anchor="right")]
    shapes += _mark_faults(faults, across, bottom)
    shapes += _minutes(across, bottom)
    return Figure(width, height, tuple(shapes), f"Peaks over time; {len(faults)} faults marked.")


def loudness_over_time(
    times_s: Sequence[float],
    short_term_lufs: Sequence[float],
    duration_s: float,
    integrated_lufs: float | None,
    aim_lufs: float | None,
    width: float,
    height: float,
) -> Figure:
    """Draw short-term loudness over time, with the integrated loudness and a target as lines.

    Parameters
    ----------
    times_s, short_term_lufs : sequence of float
        Ends of the 3 s, s, rising, and their loudness, LUFS.
    duration_s : float
        Length of the file.
    integrated_lufs, aim_lufs : float or None
        Drawn where known.
    width, height : float
        Size in design pixels, at least 280 by 160.

    Returns
    -------
    Figure
        Time and LUFS evenly; ticks contain all values.
    """
    lines = [value for value in (integrated_lufs, aim_lufs) if value is not None]
    held = [*short_term_lufs, *lines] or [-30.0, -10.0]
    ticks = even_ticks(min(held) - 1, max(held) + 1, max(2, int((height - 60) // 30)))
    left, right, bottom = 64.0, width - 86.0, height - _BOTTOM
    across, down = Axis(0.0, max(duration_s, 1e-3), left, right), Axis(ticks[0], ticks[-1], bottom, _TOP)
    shapes = _level_lines(ticks, " LUFS", down, left, right)
    curve = tuple((across.place(x), down.place(y)) for x, y in zip(times_s, short_term_lufs, strict=True))
    shapes += [Path(curve, "blue", 1.5)] if len(curve) > 1 else []
    places = _keep_lines_apart(
        [(down.place(value), name, colour)
         for value, name, colour in ((integrated_lufs, "integrated", "ink"), (aim_lufs, "target", "amber"))
         if value is not None]
    )  # fmt: skip
    for y, label_y, name, colour in places:
        shapes.append(Path(((left, y), (right, y)), colour, 1.5))  # type: ignore[arg-type]
        shapes.append(Label((right + 6, label_y + 4), name, colour, _SMALL))  # type: ignore[arg-type]
    shapes += _minutes(across, bottom)
    return Figure(width, height, tuple(shapes), "Short-term loudness in LUFS over time.")


def third_octave_levels(bands: Sequence[tuple[float, float]], width: float, height: float) -> Figure:
    """Draw the long-term spectrum in third octaves.

    Parameters
    ----------
    bands : sequence of (float, float)
        Centre, Hz, 19 to 21 000, and level, dB; nothing is drawn below −90 dB.
    width, height : float
        Size in design pixels, at least 280 by 160.

    Returns
    -------
    Figure
        Frequency by ratio from 18 Hz to 22 kHz, level evenly.
    """
    shown = [(centre, max(level, _FLOOR_DB)) for centre, level in bands]
    levels = [level for _, level in shown] or [-60.0, -20.0]
    ticks = even_ticks(min(levels), max(levels) + 1, max(2, int((height - 60) // 30)))
    left, right, bottom = 52.0, width - _RIGHT, height - _BOTTOM
    across, down = Axis(18.0, 22400.0, left, right, ratio=True), Axis(ticks[0], ticks[-1], bottom, _TOP)
    shapes = _level_lines(ticks, " dB", down, left, right)
    for centre, level in shown:
        x0, x1, y = across.place(centre / 1.11), across.place(centre * 1.11), down.place(level)
        shapes.append(Area(((x0, bottom), (x0, y), (x1, y), (x1, bottom)), "blue", 0.55))
    words = ["20 Hz", *(str(hz) if hz < 1000 else f"{hz // 1000}k" for hz in _FREQUENCIES_HZ[1:])]
    shapes += _ticks_below([across.place(hz) for hz in _FREQUENCIES_HZ], words, bottom)
    return Figure(width, height, tuple(shapes), "Level in dB of each third octave from 20 Hz to 20 kHz.")


def _mark_faults(faults: Sequence[tuple[str, float, float]], across: Axis, bottom: float) -> list[Shape]:
    """Mark faults: a line through the lanes and a cross above them, a band where a fault lasts."""
    shapes: list[Shape] = []
    places = [across.place(start) for _, start, _ in faults]
    widths = [letter_width(name, _SMALL) for name, _, _ in faults]
    named = keep_apart([x + 8 + w / 2 for x, w in zip(places, widths, strict=True)], widths, 18)
    for (name, _, end), x, written in zip(faults, places, named, strict=True):
        last = across.place(end)
        if last - x > 3:
            outline = ((x, _TOP), (last, _TOP), (last, bottom), (x, bottom))
            shapes.append(Area(outline, "vermilion", 0.10))
        shapes.append(Path(((x, _TOP), (x, bottom)), "vermilion", 1.0))
        shapes.append(Mark((x, _TOP - 8), "vermilion", 4.0, "cross"))
        fits = x + 8 + letter_width(name, _SMALL) < across.end + _RIGHT
        if written and fits:
            shapes.append(Label((x + 8, _TOP - 4), name, "vermilion", _SMALL))
    return shapes


def _level_lines(ticks: Sequence[float], unit: str, down: Axis, left: float, right: float) -> list[Shape]:
    """Draw a rule and a word for each tick; the unit stands at the highest."""
    shapes: list[Shape] = []
    for tick in ticks:
        y = down.place(tick)
        shapes.append(Path(((left, y), (right, y)), "rule", 1.0))
        word = write_tick(tick) + (unit if tick == ticks[-1] else "")
        shapes.append(Label((left - 8, y + 4), word, "muted", _SMALL, anchor="right"))
    return shapes


def _minutes(across: Axis, bottom: float) -> list[Shape]:
    """Mark time as minutes and seconds, or as seconds in a short file."""
    ticks = even_ticks(0.0, across.high, max(2, int((across.end - across.start) // 80)))
    inside = [tick for tick in ticks if tick <= across.high]
    words = [write_time(tick) if across.high >= 20 else f"{write_number(tick, 1)} s" for tick in inside]
    return _ticks_below([across.place(tick) for tick in inside], words, bottom)


def _ticks_below(places: Sequence[float], words: Sequence[str], bottom: float) -> list[Shape]:
    """Draw short ticks below, and their words where there is room."""
    kept = keep_apart(places, [letter_width(word, _SMALL) for word in words], 6)
    shapes: list[Shape] = []
    for place, word, written in zip(places, words, kept, strict=True):
        shapes.append(Path(((place, bottom), (place, bottom + 4)), "muted", 1.0))
        if written:
            shapes.append(Label((place, bottom + 18), word, "muted", _SMALL, anchor="middle"))
    return shapes


def _keep_lines_apart(lines: list[tuple[float, str, str]]) -> list[tuple[float, float, str, str]]:
    """Give the words of level lines places of their own, where two lines are close."""
    placed: list[tuple[float, float, str, str]] = []
    for y, name, colour in sorted(lines):
        lowest = placed[-1][1] + 15 if placed else y
        placed.append((y, max(y, lowest), name, colour))
    return placed
