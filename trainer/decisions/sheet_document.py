"""The decision sheet as a plain document: mappings, lists, numbers and text, read back strictly."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.decisions.sheet import Sheet
from trainer.decisions.sheet_checks import LIMITER_MOVE
from trainer.decisions.sheet_definitions import DEFINITIONS, choose_definitions
from trainer.decisions.sheet_kinds import Place, name_nearest
from trainer.decisions.sheet_parts import SHEET
from trainer.errors import BadValue, BadValues

FORMAT = 1


def list_sheet(sheet: Sheet) -> dict[str, object]:
    """List a sheet as plain data.

    Returns
    -------
    dict
        ``format``, every field of the sheet under its name, and ``definitions``. Rungs, and the two of a pair, are
        counted from 1.
    """
    moves = [candidate.move for candidate in sheet.candidates] + ([LIMITER_MOVE] if sheet.loudness.rungs else [])
    return {"format": FORMAT, **SHEET.put(sheet), "definitions": choose_definitions(moves)}


def read_sheet(document: object, where: str) -> Sheet:
    """Read a sheet from plain data.

    Parameters
    ----------
    document : object
        What `list_sheet` gives, or what a hand made of it.
    where : str
        Its file's name, for messages.

    Returns
    -------
    Sheet

    Raises
    ------
    BadValues
        With every fault, a line each.
    """
    faults: list[BadValue] = []
    if not isinstance(document, Mapping) or document.get("format") != FORMAT:
        held = document.get("format", "missing") if isinstance(document, Mapping) else type(document).__name__
        raise BadValues((BadValue(where, "format", held, f"{FORMAT}, in a mapping with a decision sheet"),))
    known = {key: value for key, value in document.items() if key not in ("format", "definitions")}
    sheet = SHEET.read(known, Place(where, "", faults))
    _read_definitions(document.get("definitions", {}), where, faults)
    if faults:
        raise BadValues(tuple(faults))
    assert isinstance(sheet, Sheet)
    return sheet


def _read_definitions(value: object, where: str, faults: list[BadValue]) -> None:
    """See that definitions are sentences under their names; what they say is the program's own."""
    if not isinstance(value, Mapping):
        faults.append(BadValue(where, "definitions", value, "a mapping of names to sentences"))
        return
    for name, words in value.items():
        if name not in DEFINITIONS:
            faults.append(BadValue(f"{where}, definitions", str(name), words, name_nearest(str(name), DEFINITIONS)))
        elif not isinstance(words, str):
            faults.append(BadValue(f"{where}, definitions", str(name), words, "a sentence"))
