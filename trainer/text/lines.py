"""What a typed line means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["nothing", "listen", "more", "less", "change", "receipt", "answer", "help", "stop", "unknown"]

HELP = (
    "1, 2, 3 listen to a version; = answers, as in =2; d plays only what changed in the trial answered last;",
    "r shows its receipt; p pauses or goes on; q stops; ? shows this. Everything answered is kept.",
)


@dataclass(frozen=True)
class Line:
    """Say what is wanted, with its text."""

    kind: Kind | Literal["pause"]
    text: str = ""


def read_line(line: str) -> Line:
    """Read one line."""
    text = line.strip()
    if not text:
        return Line("nothing")
    if text.startswith("="):
        return Line("answer", text[1:].strip())
    if text.isascii() and text.isdigit():
        return Line("listen", text)
    letters: dict[str, Line] = {
        "d": Line("change"),
        "r": Line("receipt"),
        "q": Line("stop"),
        "p": Line("pause"),
        "+": Line("more"),
        "-": Line("less"),
        "?": Line("help"),
    }
    return letters.get(text.lower(), Line("unknown", text))
