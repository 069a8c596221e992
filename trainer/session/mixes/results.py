"""What a move measures on the whole song, in rows of words."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.exercise.quantities import QUANTITIES, describe_quantity
from trainer.units import write_number

# Ends of names that tell the unit, the longest first.
UNITS = (
    ("_lufs", "LUFS"), ("_dbtp", "dBTP"), ("_dbfs", "dBFS"), ("_percent", "%"), ("_lu", "LU"), ("_db", "dB"),
    ("_hz", "Hz"), ("_ms", "ms"), ("_s", "s"),
)  # fmt: skip


def word_results(results: Mapping[str, float]) -> tuple[tuple[str, ...], ...]:
    """Word each quantity and its value."""
    return tuple(_word(name, value) for name, value in results.items())


def _word(name: str, value: float) -> tuple[str, str]:
    if name in QUANTITIES:
        return describe_quantity(name, value)
    end, unit = next(((end, unit) for end, unit in UNITS if name.endswith(end)), ("", ""))
    words = name.removesuffix(end).replace("_", " ")
    return words, f"{write_number(value, 1, unit in ('dB', 'LU'))} {unit}".rstrip()
