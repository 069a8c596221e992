"""What the desk tells of a mix, in words: rows of a comparison."""

from __future__ import annotations

from trainer.decisions.balance import BalanceRow
from trainer.decisions.balance_words import WIDTH_FROM_HZ, name_band, name_row


def is_shown(row: BalanceRow) -> bool:
    """Leave the sides of the bass out: so soft that their level says little."""
    return row.kind != "width" or row.band_hz is None or row.band_hz[0] >= WIDTH_FROM_HZ


def name_short(row: BalanceRow) -> str:
    """Name a row in the room that a figure has."""
    if row.kind == "width" and row.band_hz is not None:
        return f"Sides, {name_band(row.band_hz)}"
    return name_row(row) if row.kind == "band" else row.kind.capitalize()
