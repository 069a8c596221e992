"""Errors that a person may meet, each one a single line: ``where: name=value, expected what``."""

from __future__ import annotations


class EvenhandError(Exception):
    """Tell a person in one line what is wrong and what was expected."""


class BadValue(EvenhandError):
    """Refuse a value.

    Parameters
    ----------
    where : str
        What holds the value: a file, a drill, a command, a function.
    name : str
        The value's name there.
    value : object
        The value as it was met; long ones are shortened.
    expected : str
        What would have been right, and what to do.
    """

    def __init__(self, where: str, name: str, value: object, expected: str) -> None:
        self.where, self.name, self.value, self.expected = where, name, value, expected
        super().__init__(f"{where}: {name}={_shorten(value)}, expected {expected}")


class BadValues(EvenhandError):
    """Report every fault of one source together, a line each."""

    def __init__(self, faults: tuple[BadValue, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


class NoSound(EvenhandError):
    """Say that an audio output could not be opened; the next one is tried."""


class NotReachable(EvenhandError):
    """Say that an asked effect cannot be had on this excerpt, with the best that can."""


def _shorten(value: object) -> str:
    text = " ".join(str(value).split())
    return text if len(text) <= 120 else text[:57] + " ... " + text[-57:]
