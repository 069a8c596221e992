"""A comparison with references in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.decisions.balance import BalanceRow, Comparison
from trainer.units import write_frequency, write_number

ROW_NAMES = {
    "band": "level",
    "width": "sides against the middle",
    "peaks": "peaks over 3 s, over their loudness",
    "hits": "hits over the loudness",
}
# Widths and peaks differ from song to song by this; common practice, no source.
SPREADS_DB = {"width": 3.0, "peaks": 2.0, "hits": 2.0}
# In the bass the sides are so soft that their level says little.
WIDTH_FROM_HZ = 120.0


def name_band(band_hz: tuple[float, float]) -> str:
    """Name a band: ``60–120 Hz``, ``0.5–2 kHz``."""
    low, high = band_hz
    if high < 1000:
        return f"{low:.0f}–{high:.0f} Hz"
    return f"{low / 1000:g}–{high / 1000:g} kHz"


def name_row(row: BalanceRow) -> str:
    """Name a row of a comparison."""
    if row.kind == "band" and row.band_hz is not None:
        return name_band(row.band_hz)
    if row.band_hz is not None:
        return f"{ROW_NAMES[row.kind]}, {name_band(row.band_hz)}"
    return ROW_NAMES[row.kind]


def word_move(band_hz: tuple[float, float], from_middle_db: float, outside_db: float, count: int) -> str:
    """Say why a move is worth weighing."""
    much = write_number(abs(from_middle_db))
    more = _more(from_middle_db)
    if count == 1:
        return f"At equal loudness the mix holds {much} dB {more} than the reference from {_span(band_hz)}."
    beyond = write_number(abs(outside_db))
    return (
        f"At equal loudness the mix holds {much} dB {more} than the middle of {count} references from "
        f"{_span(band_hz)}, {beyond} dB beyond all of them."
    )


def word_cancelled(bands_hz: Sequence[tuple[float, float]]) -> str:
    """Say that a difference has no move of its own, because it and another one would undo each other."""
    spans = " and ".join(_span(band) for band in bands_hz)
    verb = "gets" if len(bands_hz) == 1 else "get"
    return (
        f"What differs from {spans} {verb} no move: beside it lies a larger difference the other way, and two moves "
        "there would partly cancel."
    )


def word_few_references(count: int) -> str:
    """Say why there is only one move."""
    known = "one reference" if count == 1 else "two references"
    return f"With {known} only the largest difference gets a move: three or more tell what songs differ by anyway."


def word_lean(bottom_db: float, top_db: float, count: int) -> str:
    """Say that all bands lean one way."""
    against = "the reference" if count == 1 else f"the middle of {count} references"
    low, high = write_number(bottom_db, 1, True), write_number(top_db, 1, True)
    return f"Against {against} the whole leans: {low} dB below 60 Hz, {high} dB above 10 kHz, in one line between."


def word_region_back(band_hz: tuple[float, float], from_middle_db: float, count: int) -> str:
    """Send a large difference back to the mix."""
    against = "the reference" if count == 1 else f"the middle of {count} references"
    return (
        f"From {_span(band_hz)} the mix holds {write_number(abs(from_middle_db))} dB {_more(from_middle_db)} than "
        f"{against}: if it is not the arrangement, it is a matter for the mix, not for a master."
    )


def word_resonance(centre_hz: float, over_db: float, compared: bool) -> str:
    """Send a narrow ring back to the mix."""
    known = ", and does not in the references" if compared else ""
    return (
        f"About {write_frequency(centre_hz)} a third octave stands {write_number(over_db)} dB out of those beside it"
        f"{known}: look in the mix for the part that rings there."
    )


def word_rows(comparison: Comparison) -> tuple[str, ...]:
    """Say where width and density lie beyond the references."""
    if not comparison.references:
        return ()
    found = []
    single = len(comparison.references) == 1
    every, middle = (
        ("the reference", "in the reference") if single else ("all references", "in the middle of the references")
    )
    rows = comparison.list_rows("width")
    widths = [row for row in rows if _is_out(row) and row.band_hz is not None and row.band_hz[0] >= WIDTH_FROM_HZ]
    if widths:
        sign = sum(1 if row.outside_db > 0 else -1 for row in widths)
        bands = ", ".join(name_band(row.band_hz) for row in widths if row.band_hz is not None and _same(row, sign))
        found.append(f"{'Wider' if sign >= 0 else 'Narrower'} than {every} at {bands}.")
    for row in (*comparison.list_rows("peaks"), *comparison.list_rows("hits")):
        if _is_out(row) and row.mix_db is not None:
            how = "higher" if row.mix_db > 0 else "lower"
            found.append(
                f"The {row.kind} stand {write_number(abs(row.mix_db))} dB {how} over the loudness than {middle}."
            )
    return tuple(found)


def _same(row: BalanceRow, sign: int) -> bool:
    return (row.outside_db > 0) == (sign >= 0)


def _is_out(row: BalanceRow) -> bool:
    """Tell whether a row lies beyond all references, and further off than songs differ by."""
    return row.outside_db != 0 and row.mix_db is not None and abs(row.mix_db) > SPREADS_DB[row.kind]


def _more(value: float) -> str:
    return "more" if value > 0 else "less"


def _span(band_hz: tuple[float, float]) -> str:
    return f"{write_frequency(band_hz[0])} to {write_frequency(band_hz[1])}"
