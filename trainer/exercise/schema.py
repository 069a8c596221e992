"""The shape of a drill file as a table, and its reading: every fault of a file is reported together."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES
from trainer.errors import BadValue, BadValues
from trainer.exercise.drill import Amount, Drill, Teaching
from trainer.exercise.forms import FORMS

FORMAT = 1
MOST_DRILLS = 200
NAME = re.compile(r"[a-z][a-z0-9_]{1,39}")


@dataclass(frozen=True)
class Key:
    """Describe one key: its kind, its bounds, and what it is for.

    Parameters
    ----------
    kind : str
        ``name`` (lower case, digits, underscores), ``text`` (``low`` to ``high`` characters), ``number`` or
        ``count`` (``low`` to ``high``), ``mapping``.
    low, high : float
        Bounds, both allowed.
    means : str
        For the format's reference.
    """

    kind: str
    low: float
    high: float
    means: str


DRILL_KEYS: dict[str, Key] = {
    "drill": Key("name", 2, 40, "the drill's name, unique"),
    "title": Key("text", 1, 40, "its title"),
    "subtitle": Key("text", 1, 60, "one line under the title while a question is open"),
    "subject": Key("text", 1, 20, "the group it is listed in"),
    "form": Key("name", 2, 40, "the form of question"),
    "move": Key("name", 2, 40, "the move that is made"),
    "skill": Key("name", 2, 40, "the threshold that answers belong to"),
    "settings": Key("mapping", 0, 0, "the move's settings that stay fixed"),
    "question": Key("text", 1, 80, "the question, naming the sound that is looked for"),
    "short_question": Key("text", 1, 40, "the same for a list, without capital and question mark"),
    "processed_words": Key(
        "text", 1, 80, "the processed version in a labelled example; {amount} stands for its amount"
    ),
    "amount": Key("mapping", 0, 0, "how much is asked"),
    "trials": Key("count", 5, 100, "trials of a run"),
    "teaching": Key("mapping", 0, 0, "what a teacher says"),
}
AMOUNT_KEYS: dict[str, Key] = {
    "unit": Key("text", 1, 12, "unit, as shown"),
    "low": Key("number", 0.001, 1000, "least amount that may be asked"),
    "high": Key("number", 0.001, 1000, "largest amount that may be asked"),
    "start": Key("number", 0.001, 1000, "where a first run begins; what `evenhand render` makes unless told otherwise"),
    "demonstration": Key("number", 0.001, 1000, "amount of the labelled example, large and plain"),
    "usual": Key("number", 0.001, 1000, "what the trade commonly uses"),
    "typical": Key("number", 0.001, 1000, "threshold expected of an unknown listener (d′ = 1.5)"),
}
TEACHING_KEYS: dict[str, Key] = {
    "does": Key("text", 1, 300, "what the move does"),
    "listen": Key("text", 1, 300, "where to listen"),
    "small": Key("text", 1, 300, "how a small amount sounds"),
    "large": Key("text", 1, 300, "how a large amount sounds"),
    "taken_for": Key("text", 1, 300, "what it is taken for"),
    "helps": Key("text", 1, 300, "when it helps"),
    "mistake": Key("text", 1, 300, "the usual mistake"),
    "attempt": Key("text", 1, 300, "one thing to try"),
}


def read_drills(document: object, source: str) -> tuple[Drill, ...]:
    """Read the drills of one parsed file.

    Parameters
    ----------
    document : object
        What the YAML holds: a mapping with ``format`` and ``drills``.
    source : str
        The file's name, for messages.

    Returns
    -------
    tuple of Drill
        In their order.

    Raises
    ------
    BadValues
        With every fault, a line each.
    """
    faults: list[BadValue] = []
    items = _open_document(document, source, faults)
    drills = [_read_drill(item, f"{source}, drill {number}", faults) for number, item in enumerate(items, 1)]
    names = [item.get("drill") for item in items if isinstance(item, Mapping)]
    for name in sorted({str(n) for n in names if names.count(n) > 1}):
        faults.append(BadValue(source, "drill", name, "a name that is used once"))
    if faults:
        raise BadValues(tuple(faults))
    return tuple(drill for drill in drills if drill is not None)


def name_nearest(name: str, known: Iterable[str]) -> str:
    """Word what was expected instead of an unknown name: the nearest one, or all of them."""
    options = sorted(known)
    near = difflib.get_close_matches(name, options, n=1)
    return f"one of {', '.join(options)}" + (f" (did you mean {near[0]}?)" if near else "")


def _open_document(document: object, source: str, faults: list[BadValue]) -> list[object]:
    """Check the frame of a file and give its items."""
    if not isinstance(document, Mapping):
        held = "nothing" if document is None else type(document).__name__
        faults.append(BadValue(source, "document", held, "a mapping with format and drills"))
        return []
    for key in document:
        if key not in ("format", "drills"):
            faults.append(BadValue(source, str(key), document[key], name_nearest(str(key), ("format", "drills"))))
    if document.get("format") != FORMAT:
        faults.append(BadValue(source, "format", document.get("format", "missing"), f"{FORMAT}"))
    items = document.get("drills")
    if not isinstance(items, list) or not 1 <= len(items) <= MOST_DRILLS:
        held = "nothing" if items is None else f"{len(items)} drills" if isinstance(items, list) else str(items)
        faults.append(BadValue(source, "drills", held, f"a list of 1 to {MOST_DRILLS} drills"))
        return []
    return items


def _read_drill(item: object, where: str, faults: list[BadValue]) -> Drill | None:
    """Check one drill; its faults are added to the list."""
    before = len(faults)
    values = _read_mapping(item, DRILL_KEYS, where, faults)
    amount = _read_part(values, "amount", AMOUNT_KEYS, where, faults)
    teaching = _read_part(values, "teaching", TEACHING_KEYS, where, faults)
    for key, known in (("move", MOVES), ("form", FORMS)):
        if key in values and values[key] not in known:
            faults.append(BadValue(where, key, values[key], name_nearest(str(values[key]), known)))
    _check_order(amount, f"{where}, amount", faults)
    _check_settings(values, amount, where, faults)
    if len(faults) > before:
        return None
    return Drill(**{**values, "amount": Amount(**amount), "teaching": Teaching(**teaching)})


def _read_part(
    values: Mapping[str, Any], name: str, keys: Mapping[str, Key], where: str, faults: list[BadValue]
) -> dict[str, Any]:
    """Check a mapping inside a drill; where it is missing that has been said already."""
    return _read_mapping(values[name], keys, f"{where}, {name}", faults) if name in values else {}


def _read_mapping(item: object, keys: Mapping[str, Key], where: str, faults: list[BadValue]) -> dict[str, Any]:
    """Check a mapping against its table; unknown and missing keys are faults."""
    if not isinstance(item, Mapping):
        faults.append(BadValue(where, "mapping", item, f"keys {', '.join(keys)}"))
        return {}
    for key in item:
        if key not in keys:
            faults.append(BadValue(where, str(key), item[key], name_nearest(str(key), keys)))
    values = {}
    for name, key in keys.items():
        expected = _find_fault(item.get(name), key)
        if expected:
            faults.append(BadValue(where, name, item.get(name, "missing"), expected))
        else:
            values[name] = float(item[name]) if key.kind == "number" else item[name]
    return values


def _find_fault(value: object, key: Key) -> str:
    """Say what was expected of a value, or nothing if it is as expected."""
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    bounds = f"{key.low:g} to {key.high:g}"
    if key.kind == "mapping":
        return "" if isinstance(value, Mapping) else "a mapping"
    if key.kind == "number":
        fits = number and math.isfinite(float(value)) and key.low <= float(value) <= key.high  # type: ignore[arg-type]
        return "" if fits else f"a number, {bounds}"
    if key.kind == "count":
        fits = isinstance(value, int) and number and key.low <= value <= key.high
        return "" if fits else f"a whole number, {bounds}"
    if key.kind == "name":
        return "" if isinstance(value, str) and NAME.fullmatch(value) else "a name in lower case: letters, digits, _"
    fits = isinstance(value, str) and key.low <= len(value) <= key.high and value.isprintable()
    return "" if fits else f"text of {bounds} characters on one line"


def _check_order(amount: Mapping[str, Any], where: str, faults: list[BadValue]) -> None:
    """See that amounts lie between their bounds, as far as these are known."""
    if not {"low", "high"} <= set(amount):
        return
    if not amount["low"] < amount["high"]:
        faults.append(BadValue(where, "high", amount["high"], f"more than low, {amount['low']:g}"))
        return
    for name in ("start", "demonstration", "usual", "typical"):
        if name in amount and not amount["low"] <= amount[name] <= amount["high"]:
            faults.append(BadValue(where, name, amount[name], f"{amount['low']:g} to {amount['high']:g}"))


def _check_settings(values: Mapping[str, Any], amount: Mapping[str, Any], where: str, faults: list[BadValue]) -> None:
    """See that the move takes the settings, and the largest amount where that is a setting itself."""
    if values.get("move") not in MOVES or "settings" not in values:
        return
    move = MOVES[values["move"]]
    settings = dict(values["settings"])
    for name, value in settings.items():
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            faults.append(BadValue(f"{where}, settings", str(name), value, "a number"))
            return
    if move.effect_name in {parameter.name for parameter in move.parameters} and "high" in amount:
        settings[move.effect_name] = amount["high"]
    for name, value in settings.items():
        try:
            complete_settings(move, {name: value})
        except BadValue as fault:
            faults.append(BadValue(f"{where}, settings", fault.name, fault.value, fault.expected))
