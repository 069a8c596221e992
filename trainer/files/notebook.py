"""Rounds kept in a text file, a line each time one is answered further; the last line of a round counts."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from trainer.decisions.rounds import Round
from trainer.errors import BadValue

NAME = "rounds.jsonl"


class RoundFile:
    """Keep rounds in one file of the data folder.

    Parameters
    ----------
    folder : Path
        The data folder; it exists.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / NAME

    def keep_round(self, held: Round) -> None:
        """Write a round as it is now; it is on the disk when this returns.

        Raises
        ------
        BadValue
            If it cannot be written.
        """
        line = json.dumps(asdict(held), ensure_ascii=False, sort_keys=True)
        try:
            with self._path.open("a", encoding="utf-8") as file:
                file.write(line + "\n")
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            expected = f"a data folder with room that can be written ({error.strerror})"
            raise BadValue("rounds", "write", self._path, expected) from None

    def list_rounds(self, versions: Sequence[str] = ()) -> tuple[Round, ...]:
        """List rounds in the order in which they were begun: of these versions, or all.

        A line that cannot be read, such as one that a power cut left half written, is passed over.
        """
        found: dict[str, Round] = {}
        for line in self._read():
            held = _read_round(line)
            if held is not None and (not versions or set(held.versions) == set(versions)):
                found[held.round] = held
        return tuple(found.values())

    def _read(self) -> list[str]:
        try:
            return self._path.read_text(encoding="utf-8", errors="replace").splitlines()
        except FileNotFoundError:
            return []
        except OSError as error:
            raise BadValue("rounds", "file", self._path, f"a file that can be read ({error.strerror})") from None


def _read_round(line: str) -> Round | None:
    """Read one line; None where it is no round."""
    try:
        return round_from(json.loads(line))
    except (BadValue, ValueError, TypeError, KeyError):
        return None


def round_from(item: dict[str, Any]) -> Round:
    """Make a round of a plain mapping.

    Raises
    ------
    BadValue, ValueError, TypeError, KeyError
        If it is none.
    """
    first, second = item["pair"]
    return Round(
        round=str(item["round"]),
        begun_at=str(item["begun_at"]),
        day=int(item["day"]),
        setup=str(item["setup"]),
        kind=item["kind"],
        versions=tuple(map(str, item["versions"])),
        names=tuple(map(str, item["names"])),
        pair=(int(first), int(second)),
        stretches=tuple((float(start), float(end)) for start, end in item["stretches"]),
        seed=int(item["seed"]),
        answers=tuple(map(str, item["answers"])),
        among=tuple(map(int, item.get("among", ()))),
        taken_back=tuple((int(place), str(answer)) for place, answer in item.get("taken_back", ())),
    )
