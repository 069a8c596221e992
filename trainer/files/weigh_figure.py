"""The bands in which two bounces differ, as a figure."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.session.axes import Axis, even_ticks, keep_apart, letter_width, write_tick
from trainer.session.figure import Area, Figure, Label, Path, Shape

SMALL = 12.0
LEFT, RIGHT, TOP, BOTTOM = 60.0, 14.0, 22.0, 26.0
FREQUENCIES_HZ = (20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000)
LEAST_SPAN_DB, MOST_DB = 1.0, 24.0
# A bar of a band, of its width.
SHARE = 0.8


def draw_bands(bands: Sequence[tuple[float, float, float | None]], about: str, width: float, height: float) -> Figure:
    """Draw by how much more or less the second of two bounces holds in each third octave.

    Parameters
    ----------
    bands : sequence of (float, float, float or None)
        Low and high edge, Hz, 16 to 23 000, and difference, dB; None is left out, ±24 dB is the most that is drawn.
    about : str
        What the figure shows, in a sentence.
    width, height : float
        Size in design pixels, at least 280 by 160.

    Returns
    -------
    Figure
        Frequency by ratio, dB evenly, bars from 0 dB: blue where there is more, vermilion and lighter where less.
    """
    shown = [(low, high, max(-MOST_DB, min(MOST_DB, value))) for low, high, value in bands if value is not None]
    values = [value for _, _, value in shown]
    low_db, high_db = min([-LEAST_SPAN_DB, *values]), max([LEAST_SPAN_DB, *values])
    ticks = even_ticks(low_db, high_db, max(2, int((height - 60) // 30)))
    across = Axis(16.0, 23000.0, LEFT, width - RIGHT, ratio=True)
    down = Axis(ticks[0], ticks[-1], height - BOTTOM, TOP)
    shapes = [*_rule(ticks, down, width - RIGHT), *_name_frequencies(across, height - BOTTOM)]
    zero = down.place(0.0)
    for low, high, value in shown:
        start, end = across.place(low), across.place(high)
        gap = (1 - SHARE) / 2 * (end - start)
        outline = ((start + gap, zero), (start + gap, down.place(value)), (end - gap, down.place(value)))
        more = value >= 0
        shapes.append(Area((*outline, (end - gap, zero)), "blue" if more else "vermilion", 0.75 if more else 0.55))
    shapes.append(Path(((LEFT, zero), (width - RIGHT, zero)), "ink", 1.0))
    return Figure(width, height, tuple(shapes), about)


def _rule(ticks: Sequence[float], down: Axis, right: float) -> list[Shape]:
    """Draw a rule and a word for each tick; the unit stands at the highest."""
    shapes: list[Shape] = []
    for tick in ticks:
        y = down.place(tick)
        shapes.append(Path(((LEFT, y), (right, y)), "rule", 1.0))
        words = write_tick(tick, True) + (" dB" if tick == ticks[-1] else "")
        shapes.append(Label((LEFT - 8, y + 4), words, "muted", SMALL, anchor="right"))
    return shapes


def _name_frequencies(across: Axis, bottom: float) -> list[Shape]:
    """Draw ticks at round frequencies, and their words where there is room."""
    words = ["20 Hz", *(str(hz) if hz < 1000 else f"{hz // 1000}k" for hz in FREQUENCIES_HZ[1:])]
    places = [across.place(hz) for hz in FREQUENCIES_HZ]
    kept = keep_apart(places, [letter_width(word, SMALL) for word in words], 6)
    shapes: list[Shape] = []
    for place, word, written in zip(places, words, kept, strict=True):
        shapes.append(Path(((place, bottom), (place, bottom + 4)), "muted", 1.0))
        if written:
            shapes.append(Label((place, bottom + 18), word, "muted", SMALL, anchor="middle"))
    return shapes
