"""Example figures for looking at and for drawing tests; the numbers are invented."""

from __future__ import annotations

import math
import random

from trainer.session.charts import EarPoint, ear_over_trials, frequency_response, gain_reduction
from trainer.session.ear_rows import EarGroup, EarRow, ear_rows
from trainer.session.figure import Figure, Label, Mark, Path, Shape


def response_figure(width: float = 548, height: float = 232, gain_db: float = 1.2) -> Figure:
    """Give a high shelf, asked and measured."""
    asked = []
    for step in range(121):
        hz = 20 * 1000 ** (step / 120)
        asked.append((hz, gain_db / (1 + (8000 / hz) ** 2.4) - 0.12))
    chance = random.Random(2)
    measured = [(31.5 * 2 ** (n / 3), 0.0) for n in range(28)]
    measured = [(hz, gain_db / (1 + (8000 / hz) ** 2.4) - 0.12 + chance.gauss(0, 0.02)) for hz, _ in measured]
    return frequency_response(measured, asked, width, height)


def reduction_figure(width: float = 548, height: float = 232) -> Figure:
    """Give a limiter's gain over a loop."""
    times = [n / 500 for n in range(4000)]
    chance = random.Random(8)
    depth = [4.5 * max(0.0, math.sin(2 * math.pi * t * 0.5 + 1)) ** 2 * chance.uniform(0.7, 1) for t in times]
    return gain_reduction(times, depth, width, height)


def ear_points(count: int) -> list[EarPoint]:
    """Give trials of a run whose interval narrows."""
    chance = random.Random(5)
    points, amount = [], 2.2
    for n in range(count):
        correct = n != 2 and chance.random() > 0.2
        spread = 3.2 / (1 + n) ** 0.45
        points.append(
            EarPoint(amount, correct, 1.5 + 0.1 * math.sin(n), 1.5 / (1 + spread / 2), 1.5 * (1 + spread / 2))
        )
        amount = min(4.0, max(0.6, amount * (0.85 if correct else 1.4)))
    return points


def ear_figure(count: int, width: float = 548, height: float = 232) -> Figure:
    """Give the ear after ``count`` of 30 trials."""
    return ear_over_trials(ear_points(count), "dB", 1.0, 30, width, height)


def rows_figure(width: float = 412) -> Figure:
    """Give thresholds of several skills."""
    tone = (
        EarRow("Low shelf 100 Hz", 1.4, 1.0, 1.9, True),
        EarRow("Low mids 300 Hz", 1.9, 1.2, 3.0, True),
        EarRow("Mids 1 kHz", 1.1, 0.9, 1.4, True),
        EarRow("Presence 3 kHz", 0.9, 0.75, 1.1, True),
        EarRow("High shelf 8 kHz", 1.5, 1.1, 2.2, False),
    )
    level = (
        EarRow("Limiting", 3.9, 2.0, 7.4, False),
        EarRow("Held down", 2.6, 1.8, 4.0, True),
        EarRow("Side-chain filter and attack", None, 0, 0, False),
    )
    return ear_rows(
        (
            EarGroup("Equaliser", "gain, dB", 1.0, (0.5, 1, 2, 4), tone),
            EarGroup("Dynamics", "gain reduction, dB", 2.0, (1, 2, 4, 8), level),
            EarGroup(
                "Saturation",
                "added, dB below the song",
                42,
                (24, 30, 60),
                (EarRow("Odd harmonics", 38, 33, 44, False),),
            ),
        ),
        width,
    )


def bands_figure(width: float = 520, height: float = 232) -> Figure:
    """Give eight bands of a mix beside those of three references."""
    bands = ("20–60 Hz", "60–120 Hz", "120–250 Hz", "250–500 Hz", "0.5–2 kHz", "2–5 kHz", "5–10 kHz", "10–20 kHz")
    middle, unit = 310.0, 34.0
    shapes: list[Shape] = []
    for level_db in (-6, -3, 0, 3, 6):
        x = middle + level_db * unit
        shapes.append(Path(((x, 0), (x, height - 20)), "ink" if level_db == 0 else "rule"))
        sign = "+" if level_db > 0 else "−" if level_db else ""
        shapes.append(Label((x, height - 4), f"{sign}{abs(level_db)}{' dB' if level_db == 6 else ''}", anchor="middle"))
    chance = random.Random(9)
    for row, band in enumerate(bands):
        y = 12 + row * (height - 28) / len(bands)
        shapes.append(Label((0, y + 4), band, "ink"))
        for _ in range(3):
            x = middle + chance.uniform(-2.6, 2.6) * unit
            shapes.append(Path(((x, y - 6), (x, y + 6)), "blue", 2))
        shapes.append(Mark((middle + chance.uniform(-2, 3) * unit, y), "ink", 6))
    return Figure(width, height, tuple(shapes), "eight bands of a mix and of three references")
