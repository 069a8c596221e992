"""Histories between computers: a text file, a trial a line, that can be merged any number of times."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any, get_type_hints

from trainer.errors import BadValue
from trainer.exercise.history import StoredTrial

FORMAT, VERSION = "evenhand history", 1
LARGEST_BYTES = 200_000_000
_HINTS = get_type_hints(StoredTrial)
_NAMES = tuple(field.name for field in fields(StoredTrial))


def write_history(trials: Sequence[StoredTrial], path: Path) -> None:
    """Write trials to a file beside it first, so that it is whole or not there.

    Raises
    ------
    BadValue
        If it cannot be written.
    """
    lines = [json.dumps({"format": FORMAT, "version": VERSION, "trials": len(trials)})]
    lines += [json.dumps(asdict(trial), ensure_ascii=False, sort_keys=True) for trial in trials]
    beside = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text("\n".join(lines) + "\n", encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        raise BadValue("history", "file", path, f"a place that can be written ({error.strerror})") from None
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


def read_history(path: Path) -> tuple[StoredTrial, ...]:
    """Read a file of trials; one bad line refuses the whole file, so that nothing is merged by halves.

    Raises
    ------
    BadValue
        With the line.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadValue("history", "file", path, f"at most {LARGEST_BYTES // 1_000_000} MB")
        lines = path.read_text(encoding="utf-8").splitlines()
    except OSError as error:
        raise BadValue("history", "file", path, f"a file that can be read ({error.strerror})") from None
    except UnicodeDecodeError:
        raise BadValue("history", "file", path, "text in UTF-8") from None
    head = _parse(lines[0], f"{path.name}, line 1") if lines else {}
    if head.get("format") != FORMAT or head.get("version") != VERSION:
        expected = f"a file that evenhand history export wrote, version {VERSION}"
        raise BadValue(path.name, "format", head.get("format", "none"), expected)
    trials = tuple(_read_trial(line, f"{path.name}, line {number}") for number, line in enumerate(lines[1:], 2) if line)
    if head.get("trials") != len(trials):
        raise BadValue(path.name, "trials", len(trials), f"{head.get('trials')} as its first line says")
    return trials


def _parse(line: str, where: str) -> dict[str, Any]:
    """Read one object."""
    try:
        item = json.loads(line)
    except (ValueError, RecursionError):
        item = None
    if not isinstance(item, dict):
        raise BadValue(where, "object", line[:40] or "nothing", "a JSON object")
    return item


def _read_trial(line: str, where: str) -> StoredTrial:
    """Read one trial, strictly."""
    item = _parse(line, where)
    for name in _NAMES:
        if name not in item or not _fits(item[name], _HINTS[name]):
            raise BadValue(where, name, str(item.get(name, "missing"))[:40], "what evenhand history export writes")
    unknown = sorted(set(item) - set(_NAMES))
    if unknown:
        raise BadValue(where, unknown[0], str(item[unknown[0]])[:40], "no other keys")
    values: dict[str, Any] = {name: float(item[name]) if _HINTS[name] is float else item[name] for name in _NAMES}
    return StoredTrial(**values)


def _fits(value: object, hint: object) -> bool:
    """Tell whether a value has the type of its field."""
    number = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    if hint is float:
        return number
    if hint is int:
        return isinstance(value, int) and number
    if hint in (str, bool):
        return isinstance(value, hint)
    if hint == bool | None:
        return value is None or isinstance(value, bool)
    if hint == float | None:
        return value is None or number
    return isinstance(value, dict)
