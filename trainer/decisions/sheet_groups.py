"""Kinds of grouped values in a sheet's document: lists, mappings of numbers, and records."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from trainer.decisions.sheet_kinds import NAME, Kind, Number, Place, name_nearest, show_value
from trainer.errors import BadValue

MOST_ITEMS = 2000
NUMBER = Number()
# Values by name, where they stand, and the faults so far.
Check = Callable[[dict[str, Any], str, list[BadValue]], None]


@dataclass(frozen=True)
class Many:
    """A list, held as a tuple.

    Parameters
    ----------
    kind : Kind
        Of its items.
    label : str
        What an item is called; items are counted from 1.
    least, most : int
        How many.
    distinct : str or None
        The key that no two items share; with nothing in it, no two items are the same.
    """

    kind: Kind
    label: str
    least: int = 0
    most: int = MOST_ITEMS
    distinct: str | None = None

    def read(self, value: object, place: Place) -> tuple[Any, ...]:
        """Read each item."""
        if not isinstance(value, list) or not self.least <= len(value) <= self.most:
            held = f"{len(value)} items" if isinstance(value, list) else show_value(value)
            place.refuse(held, f"a list of {self.least} to {self.most}")
            return ()
        self._refuse_repeats(value, place)
        named = (f"{self.label} {number}" for number in range(1, len(value) + 1))
        return tuple(
            self.kind.read(item, Place(place.where, name, place.faults))
            for item, name in zip(value, named, strict=True)
        )

    def put(self, value: Iterable[Any]) -> list[object]:
        """Give a list."""
        return [self.kind.put(item) for item in value]

    def _refuse_repeats(self, items: list[object], place: Place) -> None:
        """Name what stands there more than once."""
        if self.distinct is None:
            return
        held = [item.get(self.distinct) if isinstance(item, Mapping) else item for item in items]
        names = [name for name in held if isinstance(name, str)]
        for name in dict.fromkeys(name for name in names if names.count(name) > 1):
            place.faults.append(BadValue(place.where, self.distinct or place.name, name, "a name that is used once"))


@dataclass(frozen=True)
class Numbers:
    """A mapping of names to numbers."""

    def read(self, value: object, place: Place) -> dict[str, float]:
        """Read each; names are lower case with their unit."""
        if not isinstance(value, Mapping):
            place.refuse(show_value(value), "a mapping of names to numbers")
            return {}
        found, where = {}, place.go_inside(place.name)
        for name, number in value.items():
            if not isinstance(name, str) or not NAME.fullmatch(name):
                place.faults.append(
                    BadValue(where, "name", show_value(name), "a name in lower case: letters, digits, _")
                )
                continue
            held = NUMBER.read(number, Place(where, name, place.faults))
            found[name] = 0.0 if held is None else held
        return found

    def put(self, value: Mapping[str, float]) -> dict[str, object]:
        """Give a mapping."""
        return {name: NUMBER.put(number) for name, number in value.items()}


@dataclass(frozen=True)
class Record:
    """A mapping with exactly the keys of a dataclass.

    Parameters
    ----------
    make : callable
        The dataclass; what it refuses by itself is a fault as well.
    kinds : mapping of str to Kind
        Its fields.
    check : callable
        Sees that values fit together; called with those that are of their kind, their place, and the faults.
    title : str
        The field that an item of a list is known by.
    usual : mapping of str to object
        Fields that older documents lack, each with what it is there; they are written only where they differ.
    older : mapping of str to tuple of str
        Keys of older documents, each with the fields that it stands for.
    """

    make: Callable[..., Any]
    kinds: Mapping[str, Kind]
    check: Check | None = None
    title: str = ""
    usual: Mapping[str, Any] = field(default_factory=dict)
    older: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def read(self, value: object, place: Place) -> Any:
        """Read every field; unknown keys are faults, and missing ones that have no usual value."""
        if not isinstance(value, Mapping):
            place.refuse(show_value(value), f"a mapping with {', '.join(self.kinds)}")
            return None
        before, where = len(place.faults), self._name(value, place)
        self._refuse_keys(value, where, place.faults)
        keys = {name: key for key, names in self.older.items() if key in value for name in names if name not in value}
        values, refused = {}, set()
        for name, kind in self.kinds.items():
            key = keys.get(name, name)
            inner = Place(where, key, place.faults)
            if key not in value and name in self.usual:
                values[name] = self.usual[name]
            elif key not in value:
                inner.refuse("missing", "this key")
            elif key not in refused:
                already = len(place.faults)
                held = kind.read(value[key], inner)
                if len(place.faults) == already:
                    values[name] = held
                else:
                    refused.add(key)
        if self.check is not None:
            self.check(values, where, place.faults)
        return self._make(values, where, place.faults) if len(place.faults) == before else None

    def put(self, value: Any) -> dict[str, object]:
        """Give a mapping, keys in their order."""
        held = {name: getattr(value, name) for name in self.kinds}
        return {
            name: kind.put(held[name])
            for name, kind in self.kinds.items()
            if name not in self.usual or held[name] != self.usual[name]
        }

    def _refuse_keys(self, value: Mapping[Any, Any], where: str, faults: list[BadValue]) -> None:
        """Name keys that there are not, and older ones beside what took their place."""
        for key in value:
            newer = self.older.get(key, ())
            if not set(newer).isdisjoint(value):
                faults.append(BadValue(where, key, show_value(value[key]), f"{' and '.join(newer)} without it"))
            elif key not in self.kinds and not newer:
                expected = f"no such key, but {name_nearest(str(key), self.kinds)}"
                faults.append(BadValue(where, str(key), show_value(value[key]), expected))

    def _name(self, value: Mapping[Any, Any], place: Place) -> str:
        titled = value.get(self.title) if self.title else None
        named = f" ({titled})" if isinstance(titled, str) and NAME.fullmatch(titled) else ""
        return place.go_inside(place.name + named) if place.name else place.where

    def _make(self, values: dict[str, Any], where: str, faults: list[BadValue]) -> Any:
        try:
            return self.make(**values)
        except BadValue as fault:
            faults.append(BadValue(where, fault.name, fault.value, fault.expected))
            return None
