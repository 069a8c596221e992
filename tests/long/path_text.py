"""The terminal, led by a simulated person: `evenhand decide --text` with typed lines and what it answers."""

from __future__ import annotations

import io
import json
import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

from tests.long.path_person import Act, Answer, EndPass, Hear, Mark, Person, Shown, Take, WayLost, Write
from trainer.cli import main


class Screen(io.StringIO):
    """Standard output: every line is one event; what is shown follows from them."""

    def __init__(self) -> None:
        super().__init__()
        self.shown = Shown()
        self.sheet = ""

    def write(self, text: str) -> int:
        """Take a line in."""
        for line in filter(None, text.splitlines()):
            event = json.loads(line)
            if event["event"] == "page":
                self.shown = Shown(tuple(event["lines"]), tuple(event["offers"]))
            elif event["event"] == "question":
                self.shown = Shown(question=event["question"])
            elif event["event"] == "sheet":
                self.sheet = event["path"]
        return len(text)


class Keyboard(io.StringIO):
    """Standard input: the next line is thought of when it is read."""

    def __init__(self, person: Person, screen: Screen) -> None:
        super().__init__()
        self._screen = screen
        self._acts: Iterator[Act] = person.lead(_Reading(screen))
        self.lost: WayLost | None = None

    def readline(self, size: int | None = -1, /) -> str:  # type: ignore[override]
        """Type the next line; none at the end of the way, or where it is lost."""
        try:
            act = next(self._acts, None)
            return "" if act is None else f"{write_line(act, self._screen.shown)}\n"
        except WayLost as lost:
            self.lost = lost
            return ""


class _Reading:
    """The screen as a face."""

    def __init__(self, screen: Screen) -> None:
        self._screen = screen

    def read(self) -> Shown:
        """Give what is shown now."""
        return self._screen.shown


def write_line(act: Act, shown: Shown) -> str:
    """Write an act as the terminal takes it."""
    if isinstance(act, Take):
        return f"={act.label}"
    if isinstance(act, Write):
        return f"={act.text}"
    if isinstance(act, Hear):
        return str(act.number)
    if isinstance(act, Answer):
        return f"={act.number}"
    if isinstance(act, Mark):
        return f"={act.at_s} {act.kind}"
    assert isinstance(act, EndPass)
    return "=done"


def lead_text(person: Person, mix: Path, data: Path) -> Path:
    """Lead a mix through `evenhand decide --text`; gives the path of its sheet.

    Raises
    ------
    WayLost
        If something that the person looks for does not come, or the command fails.
    """
    screen = Screen()
    keyboard = Keyboard(person, screen)
    command = ["decide", str(mix), "--text", "--json", "--silent", "--data", str(data)]
    with (
        tempfile.TemporaryFile("w+") as errors,
        patch("trainer.app.world.open_player", lambda rate_hz, silent=False: person.player),
        patch.object(sys, "stdin", keyboard),
        patch.object(sys, "stdout", screen),
    ):
        status, said = _catch_errors(command, errors.fileno()), _read_all(errors)
    if keyboard.lost is not None or status:
        raise WayLost(f"status {status}, {keyboard.lost or 'the way was gone'}; {' / '.join(said)}")
    person.odd += said
    return Path(screen.sheet)


def _catch_errors(command: list[str], into: int) -> int:
    """Carry a command out, its standard error going to a file."""
    sys.stderr.flush()
    before = os.dup(2)
    os.dup2(into, 2)
    try:
        return main(command)
    finally:
        os.dup2(before, 2)
        os.close(before)


def _read_all(errors: io.TextIOBase) -> list[str]:
    """Read the lines that were written."""
    errors.seek(0)
    return errors.read().splitlines()
