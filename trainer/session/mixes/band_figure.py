"""A mix beside its references: a mark for each reference, a dot for the mix, row by row."""

from __future__ import annotations

import math
from collections.abc import Sequence

from trainer.decisions.mix_jobs import BandMarks
from trainer.session.figure import Figure, Label, Mark, Path, Shape
from trainer.units import write_number

WIDTH, ROW = 540.0, 26.0
LEFT, RIGHT, TOP = 136.0, 16.0, 10.0
FOOT = 44.0
STEPS_DB = (3.0, 6.0, 9.0, 12.0)


def draw_bands(rows: Sequence[BandMarks]) -> Figure:
    """Draw each row against the middle of the references; what lies further out stands at the edge, as an open ring."""
    reach = _find_reach(rows)
    height = TOP + ROW * len(rows) + FOOT
    shapes: list[Shape] = []
    for value in (-reach, -reach / 2, 0.0, reach / 2, reach):
        x = _place(value, reach)
        weight = 1.4 if value == 0 else 1.0
        colour = "muted" if value == 0 else "rule"
        shapes.append(Path(((x, TOP), (x, TOP + ROW * len(rows))), colour, weight))  # type: ignore[arg-type]
        text = "middle" if value == 0 else f"{write_number(value, 1, True).removesuffix('.0')}"
        shapes.append(Label((x, TOP + ROW * len(rows) + 16), text, "muted", 12.0, anchor="middle"))
    for number, row in enumerate(rows):
        shapes += _draw_row(row, TOP + ROW * (number + 0.5), reach)
    shapes.append(
        Label((LEFT, height - 6), "blue marks: each reference · dot: this mix · dB against their middle", "muted", 12.0)
    )
    return Figure(WIDTH, height, tuple(shapes), describe_bands(rows))


def describe_bands(rows: Sequence[BandMarks]) -> str:
    """Say the same in words."""
    said = [f"{row.name} {write_number(row.mix_db, 1, True)} dB" for row in rows if row.mix_db is not None]
    return f"The mix against the middle of its references: {', '.join(said)}."


def _draw_row(row: BandMarks, y: float, reach: float) -> list[Shape]:
    """Draw one row: its name, a short upright line for each reference, a dot for the mix."""
    shapes: list[Shape] = [Label((0.0, y + 4.5), row.name, "ink", 13.0)]
    for value in row.references_db:
        if value is not None and abs(value) <= reach:
            x = _place(value, reach)
            shapes.append(Path(((x, y - 7), (x, y + 7)), "blue", 2.0))
    if row.mix_db is not None:
        inside = abs(row.mix_db) <= reach
        x = _place(max(-reach, min(reach, row.mix_db)), reach)
        shapes.append(Mark((x, y), "ink", 6.0, "dot" if inside else "ring"))
    return shapes


def _find_reach(rows: Sequence[BandMarks]) -> float:
    """Give the least round reach that holds all values, 12 dB at most."""
    values = [abs(v) for row in rows for v in (row.mix_db, *row.references_db) if v is not None and math.isfinite(v)]
    largest = max(values, default=0.0)
    return next((step for step in STEPS_DB if step >= largest), STEPS_DB[-1])


def _place(value: float, reach: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * (value + reach) / (2 * reach)
