"""A mix beside its references: a mark for each reference, a dot for the mix, row by row."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from trainer.decisions.mix_jobs import BandMarks
from trainer.session.figure import Area, Figure, Label, Mark, Path, Shape
from trainer.units import write_number

# Drawn in half of a page the words come out as large as a page's muted text, also in the smallest window.
WIDTH, WORDS = 640.0, 18.0
ROW, APART, TOP, FOOT = 29.0, 10.0, 30.0, 8.0
NAME, LEFT, RIGHT = 18.0, 218.0, 30.0
STEPS_DB = (3.0, 6.0, 9.0, 12.0)
TICKS_DB = {3.0: (1.0, 2.0, 3.0), 6.0: (3.0, 6.0), 9.0: (3.0, 6.0, 9.0), 12.0: (6.0, 12.0)}
LEGEND = "Blue marks: each reference. Dot: your mix. dB against the middle of the references."
LEGEND_OF_ONE = "Blue mark: the reference. Dot: your mix. dB against the reference."
BEYOND = "A ring at the edge lies further out."


def draw_bands(rows: Sequence[BandMarks], heard: Sequence[BandMarks] = ()) -> Figure:
    """Draw each row against the middle of the references; what lies further out stands at the edge, as an open ring.

    The scale stands at the top, where it is seen before the rows are scrolled.

    Parameters
    ----------
    rows : sequence of BandMarks
        Bands, then sides, then density.
    heard : sequence of BandMarks
        Rows that are heard alone now: pointed at, and named in bold.
    """
    reach = find_reach(rows)
    places = _place_rows(rows)
    foot = places[-1] + ROW / 2 if places else TOP
    shapes: list[Shape] = []
    ticks_db = TICKS_DB[reach]
    for value in (*(-each for each in reversed(ticks_db)), 0.0, *ticks_db):
        x = _place(value, reach)
        shapes.append(Path(((x, TOP), (x, foot)), "rule" if value else "muted", 1.0 if value else 1.4))
        text = f"{write_number(value, 0, True)}{' dB' if value == reach else ''}"
        middle = "reference" if is_single(rows) else "middle"
        shapes.append(Label((x, TOP - 10), text if value else middle, "muted", WORDS, anchor="middle"))
    for row, y in zip(rows, places, strict=True):
        shapes += _draw_row(row, y, reach, row in heard)
    return Figure(WIDTH, foot + FOOT, tuple(shapes), describe_bands(rows, heard))


def describe_bands(rows: Sequence[BandMarks], heard: Sequence[BandMarks] = ()) -> str:
    """Say the same in words; where a part is heard, of that part alone."""
    said = [f"{row.name} {write_number(row.mix_db, 1, True)} dB" for row in heard or rows if row.mix_db is not None]
    against = "its reference" if is_single(rows) else "the middle of its references"
    return f"The mix against {against}: {', '.join(said) or 'nothing to compare'}."


def word_legend(rows: Sequence[BandMarks]) -> str:
    """Say what the marks are."""
    legend = LEGEND_OF_ONE if is_single(rows) else LEGEND
    return f"{legend} {BEYOND}" if find_largest(rows) > STEPS_DB[-1] else legend


def is_single(rows: Sequence[BandMarks]) -> bool:
    """Tell whether the mix is set against one reference alone."""
    return all(len(row.references_db) == 1 for row in rows)


def find_heard(rows: Sequence[BandMarks], part: str, everything: str, sides: bool) -> tuple[BandMarks, ...]:
    """Find the rows that are heard alone: of a band its level, or its sides; of everything the sides, or none."""
    kind = "width" if sides else "band"
    if part == everything and not sides:
        return ()
    return tuple(row for row in rows if row.kind == kind and part in (row.part, everything))


def find_reach(rows: Sequence[BandMarks]) -> float:
    """Give the least round reach that holds all values, 12 dB at most."""
    largest = find_largest(rows)
    return next((step for step in STEPS_DB if step >= largest), STEPS_DB[-1])


def find_largest(rows: Sequence[BandMarks]) -> float:
    """Give the value that lies furthest out, dB; 0 without any."""
    values = [abs(v) for row in rows for v in (row.mix_db, *row.references_db) if v is not None and math.isfinite(v)]
    return max(values, default=0.0)


def _place_rows(rows: Sequence[BandMarks]) -> list[float]:
    """Give the middle of each row, with some room where another kind begins."""
    places = [TOP + ROW / 2] if rows else []
    for before, row in pairwise(rows):
        density = {"peaks", "hits"} >= {before.kind, row.kind}
        places.append(places[-1] + ROW + (0.0 if density or before.kind == row.kind else APART))
    return places


def _draw_row(row: BandMarks, y: float, reach: float, heard: bool) -> list[Shape]:
    """Draw one row: its name, a short upright line for each reference, a dot for the mix."""
    shapes: list[Shape] = []
    if heard:
        shapes.append(Area(((2.0, y - 7), (13.0, y), (2.0, y + 7)), "ink"))
    shapes.append(Label((NAME, y + 6), row.name, "ink", WORDS, "bold" if heard else "regular"))
    for value in row.references_db:
        if value is not None and abs(value) <= reach:
            x = _place(value, reach)
            shapes.append(Path(((x, y - 9), (x, y + 9)), "blue", 3.0))
    if row.mix_db is not None:
        inside = abs(row.mix_db) <= reach
        x = _place(max(-reach, min(reach, row.mix_db)), reach)
        shapes.append(Mark((x, y), "ink", 7.5, "dot" if inside else "ring"))
    return shapes


def _place(value: float, reach: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * (value + reach) / (2 * reach)
