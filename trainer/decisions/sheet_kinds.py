"""Kinds of single values in a sheet's document: each is read strictly, and put back as plain data."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Protocol

from trainer.errors import BadValue

NAME = re.compile(r"[a-z][a-z0-9_]{0,59}")
HASH = re.compile(r"[0-9a-f]{64}")
LONGEST_TEXT = 4000
# What no text may hold: control characters but line ends and tabs, and halves of letters.
UNWRITABLE = ("Cc", "Cs")


@dataclass(frozen=True)
class Place:
    """Say where a value stands, and collect what is wrong."""

    where: str
    name: str
    faults: list[BadValue]

    def refuse(self, value: object, expected: str) -> None:
        """Add a fault."""
        self.faults.append(BadValue(self.where, self.name, value, expected))

    def go_inside(self, label: str) -> str:
        """Name what holds the values further in."""
        return f"{self.where}, {label}"


class Kind(Protocol):
    """A kind of value."""

    def read(self, value: object, place: Place) -> Any:
        """Give the value as the model holds it; a fault is added to the place, and what is given then is of no use."""
        ...

    def put(self, value: Any) -> object:
        """Give it as plain data."""
        ...


@dataclass(frozen=True)
class Number:
    """A finite number within bounds, both allowed, held as a float."""

    low: float = -1e9
    high: float = 1e9
    none: bool = False

    def read(self, value: object, place: Place) -> float | None:
        """Take whole numbers too, but no truth values."""
        if value is None and self.none:
            return None
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        # Compared as it is: a whole number of a thousand digits is no float.
        if not number or not self.low <= value <= self.high:  # type: ignore[operator]
            place.refuse(
                show_value(value), f"a number, {self.low:g} to {self.high:g}" + (", or null" if self.none else "")
            )
            return 0.0
        return float(value)  # type: ignore[arg-type]

    def put(self, value: float | None) -> float | None:
        """Give it as a float."""
        return None if value is None else float(value)


@dataclass(frozen=True)
class Count:
    """A whole number within bounds or, where there are only a few, one of them; ``first`` is what the model calls 0."""

    low: int
    high: int
    among: tuple[int, ...] = ()
    first: int = 0
    none: bool = False

    def read(self, value: object, place: Place) -> int | None:
        """Refuse fractions and truth values."""
        if value is None and self.none:
            return None
        whole = isinstance(value, int) and not isinstance(value, bool)
        if not whole or not self.low <= value <= self.high or (self.among and value not in self.among):  # type: ignore[operator]
            bounds = f"one of {', '.join(map(str, self.among))}" if self.among else f"{self.low} to {self.high}"
            place.refuse(show_value(value), f"a whole number, {bounds}" + (", or null" if self.none else ""))
            return 0
        return value - self.first  # type: ignore[operator]

    def put(self, value: int | None) -> int | None:
        """Count from ``first`` again."""
        return None if value is None else int(value) + self.first


@dataclass(frozen=True)
class Flag:
    """True or false."""

    def read(self, value: object, place: Place) -> bool:
        """Refuse all else."""
        if not isinstance(value, bool):
            place.refuse(show_value(value), "true or false")
        return value is True

    def put(self, value: bool) -> bool:
        """Give it as it is."""
        return bool(value)


@dataclass(frozen=True)
class Text:
    """Text of up to so many characters; with ``least`` 1 it may not be empty."""

    least: int = 0
    most: int = LONGEST_TEXT

    def read(self, value: object, place: Place) -> str:
        """Refuse what no text file holds."""
        if not isinstance(value, str):
            place.refuse(show_value(value), f"text of {self.least} to {self.most} characters, in quotes if in doubt")
            return ""
        if not self.least <= len(value) <= self.most:
            place.refuse(value or "nothing", f"text of {self.least} to {self.most} characters")
        elif any(unicodedata.category(letter) in UNWRITABLE and letter not in "\n\t" for letter in value):
            place.refuse(value.encode("unicode_escape").decode(), "text without control characters")
        return value

    def put(self, value: str) -> str:
        """Give it as it is."""
        return value


@dataclass(frozen=True)
class Word:
    """One of a few words."""

    among: tuple[str, ...]

    def read(self, value: object, place: Place) -> str:
        """Name the nearest word for another one."""
        if value not in self.among:
            place.refuse(show_value(value), name_nearest(str(value), self.among))
        return str(value)

    def put(self, value: str) -> str:
        """Give it as it is."""
        return value


@dataclass(frozen=True)
class Shaped:
    """Text of a shape: a name, a hash, a date, a time."""

    fits: Callable[[str], bool]
    expected: str
    empty: bool = False

    def read(self, value: object, place: Place) -> str:
        """Take a bare date of YAML too; what is not of the shape is refused."""
        if isinstance(value, date) and not isinstance(value, datetime):
            value = value.isoformat()
        if value == "" and self.empty:
            return ""
        if not isinstance(value, str) or not self.fits(value):
            place.refuse("nothing" if value == "" else show_value(value), self.expected)
            return ""
        return value

    def put(self, value: str) -> str:
        """Give it as it is."""
        return value


def name_nearest(name: str, known: Iterable[str]) -> str:
    """Word what was expected instead of an unknown name."""
    options = list(known)
    near = difflib.get_close_matches(name, options, n=1)
    return f"one of {', '.join(options)}" + (f" (did you mean {near[0]}?)" if near else "")


def is_date(text: str) -> bool:
    """Tell whether a text is a date: 2026-11-27."""
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def is_moment(text: str) -> bool:
    """Tell whether a text is a time with its zone: 2026-11-27T21:14:03+01:00."""
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False


def show_value(value: object) -> str:
    """Show a value as it stands in the file; a number of a thousand digits is only described."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) >= 10**30:
        return "a whole number of more than 30 digits"
    return str(value)
