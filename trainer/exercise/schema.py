"""The shape of a drill file as a table, and its reading: every fault of a file is reported together."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from trainer.dsp.move import complete_settings
from trainer.dsp.moves import MOVES
from trainer.errors import BadValue, BadValues
from trainer.exercise.drill import REACHES, Amount, Choice, Drill, Teaching
from trainer.exercise.forms import FORMS

FORMAT = 1
MOST_DRILLS = 200
NAME = re.compile(r"[a-z][a-z0-9_]{1,39}")


REQUIRED = object()
MOST_CHOICES, MOST_RUNGS = 8, 12


@dataclass(frozen=True)
class Key:
    """Describe one key: its kind, its bounds, and what it is for.

    Parameters
    ----------
    kind : str
        ``reach`` (one of `REACHES`),
        ``name`` (lower case, digits, underscores), ``text`` (``low`` to ``high`` characters), ``number`` or
        ``count`` (``low`` to ``high``), ``numbers`` (each ``low`` to ``high``), ``switch`` (true or false),
        ``mapping``, ``list``.
    low, high : float
        Bounds, both allowed.
    means : str
        For the format's reference.
    default : object
        What stands for a key that may be left out; ``REQUIRED`` for one that may not.
    """

    kind: str
    low: float
    high: float
    means: str
    default: object = REQUIRED


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
    "trials": Key("count", 1, 100, "trials of a run"),
    "teaching": Key("mapping", 0, 0, "what a teacher says"),
    "signed": Key("switch", 0, 1, "whether amounts are shown with a plus sign", False),
    "choices": Key("list", 2, MOST_CHOICES, "for `name_it`: the changes that are to be told apart", ()),
    "rungs": Key("numbers", -60, 1000, "for `put_in_order`: the amounts of the ladder, the least first", ()),
    "rung_unit": Key(
        "text", 1, 12, "for `put_in_order`: the unit of the rungs, where it is not that of the amounts", ""
    ),
    "anchor": Key("number", 0.001, 1000, "for `how_much`: the amount that may be heard, named", 0.0),
    "reach": Key("reach", 0, 0, "what a set-up must play for it; a set-up that does not is not asked", ""),
}
CHOICE_KEYS: dict[str, Key] = {
    "answer": Key("name", 2, 40, "the answer's word"),
    "words": Key("text", 1, 60, 'what was done, after "It was"'),
    "move": Key("name", 2, 40, "the move"),
    "settings": Key("mapping", 0, 0, "its fixed settings"),
    "share": Key("share", -10, 10, "the amount is multiplied by this; −1 for the other direction", 1.0),
}
AMOUNT_KEYS: dict[str, Key] = {
    "unit": Key("text", 1, 12, "unit, as shown"),
    "low": Key("number", 0.001, 1000, "least amount that may be asked"),
    "high": Key("number", 0.001, 1000, "largest amount that may be asked"),
    "start": Key("number", 0.001, 1000, "where a first run begins; what `evenhand render` makes unless told otherwise"),
    "demonstration": Key("number", 0.001, 1000, "amount of the labelled example, large and plain"),
    "usual": Key("number", 0.001, 1000, "what the trade commonly uses"),
    "typical": Key("number", 0.001, 1000, "threshold expected of an unknown listener (d′ = 1.5)"),
    "usual_source": Key("text", 1, 160, "where `usual` comes from, or that it is common practice or an inference"),
    "typical_source": Key("text", 1, 160, "the same for `typical`"),
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
    choices = [
        _read_choice(each, amount, f"{where}, choice {number}", faults)
        for number, each in enumerate(values.get("choices", ()), 1)
    ]
    _check_name(values, "move", MOVES, where, faults)
    _check_name(values, "form", FORMS, where, faults)
    _check_order(amount, f"{where}, amount", faults)
    _check_settings(values, amount, where, faults)
    _check_form(values, where, faults)
    if len(faults) > before:
        return None
    parts = {"amount": Amount(**amount), "teaching": Teaching(**teaching), "rungs": tuple(values["rungs"])}
    return Drill(**{**values, **parts, "choices": tuple(choices)})


def _read_choice(item: object, amount: Mapping[str, Any], where: str, faults: list[BadValue]) -> Choice | None:
    """Check one of the changes that are to be told apart."""
    before = len(faults)
    values = _read_mapping(item, CHOICE_KEYS, where, faults)
    _check_name(values, "move", MOVES, where, faults)
    share = abs(values.get("share", 1.0))
    _check_settings(values, {name: share * value for name, value in amount.items() if name == "high"}, where, faults)
    return Choice(**values) if len(faults) == before else None


def _check_name(
    values: Mapping[str, Any], key: str, known: Mapping[str, object], where: str, faults: list[BadValue]
) -> None:
    """See that a name is known."""
    if key in values and values[key] not in known:
        faults.append(BadValue(where, key, values[key], name_nearest(str(values[key]), known)))


def _check_form(values: Mapping[str, Any], where: str, faults: list[BadValue]) -> None:
    """See that a form has what it needs beyond the common keys."""
    form, rungs = values.get("form"), list(values.get("rungs", ()))
    answers = [each.get("answer") for each in values.get("choices", ()) if isinstance(each, Mapping)]
    for answer in sorted({str(a) for a in answers if answers.count(a) > 1}):
        faults.append(BadValue(where, "answer", answer, "a word that is used once"))
    if form == "name_it" and not answers:
        faults.append(BadValue(where, "choices", "missing", f"2 to {MOST_CHOICES} changes to be told apart"))
    if form == "put_in_order" and not 2 <= len(rungs) <= MOST_RUNGS:
        faults.append(BadValue(where, "rungs", rungs, f"2 to {MOST_RUNGS} amounts, the least first"))
    if rungs != sorted(set(rungs)):
        faults.append(BadValue(where, "rungs", rungs, "amounts that rise"))
    if form == "against_reference" and not _turns_both_ways(values.get("move")):
        faults.append(BadValue(where, "move", values.get("move"), "a shelf, a bell or a tilt, which turn both ways"))
    if form == "how_much" and not values.get("anchor"):
        faults.append(BadValue(where, "anchor", "missing", "the amount that may be heard, named"))


def _turns_both_ways(name: object) -> bool:
    """Tell whether a move is a filter whose amount may be either sign; an unknown name has been refused already."""
    if not isinstance(name, str) or name not in MOVES:
        return True
    move = MOVES[name]
    return move.linear and any(each.name == move.effect_name and each.low < 0 for each in move.parameters)


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
        if name not in item and key.default is not REQUIRED:
            values[name] = key.default
            continue
        expected = _find_fault(item.get(name), key)
        if expected:
            faults.append(BadValue(where, name, item.get(name, "missing"), expected))
        else:
            values[name] = float(item[name]) if key.kind in ("number", "share") else item[name]
    return values


def _find_fault(value: object, key: Key) -> str:
    """Say what was expected of a value, or nothing if it is as expected."""
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    bounds = f"{key.low:g} to {key.high:g}"
    if key.kind == "mapping":
        return "" if isinstance(value, Mapping) else "a mapping"
    if key.kind == "switch":
        return "" if isinstance(value, bool) else "true or false"
    if key.kind == "reach":
        return "" if value in REACHES else f"one of {', '.join(REACHES)}"
    if key.kind == "list":
        return "" if isinstance(value, list) and key.low <= len(value) <= key.high else f"a list of {bounds}"
    if key.kind == "numbers":
        fits = isinstance(value, list) and not any(_find_fault(each, replace(key, kind="number")) for each in value)
        return "" if fits else f"a list of numbers, each {bounds}"
    if key.kind in ("number", "share"):
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
