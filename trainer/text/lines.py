"""What a typed line means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from trainer.session.answer_tones import TONES
from trainer.session.intents import Aid

Kind = Literal[
    "nothing",
    "listen",
    "more",
    "less",
    "change",
    "receipt",
    "pause",
    "answer",
    "help",
    "stop",
    "aid",
    "tone",
    "tones",
    "take_back",
    "next",
    "back",
    "end",
    "unknown",
]

AIDS: tuple[Aid, ...] = get_args(Aid)
TAKE_BACK = "take back"
TONES_HELP = "no tone, a tone, or tones that tell choose what sounds after each answer, here and in the window."
TONES_EXPECTED = "no tone, a tone, or tones that tell"
HELP = (
    "1, 2, 3 listen to a version; = answers, as in =2.",
    "d plays only what changed in the trial answered last; r shows its receipt.",
    "p pauses or goes on; q stops; ? shows this. Everything answered is kept.",
    "The same in words: difference, receipt, pause, stop, help.",
    "end, where it is offered after much guessing at the largest amount, ends the run there.",
    "mono, sides, swapped and quiet change how examples and d are heard, and back; never a question.",
    TONES_HELP,
)


COMMANDS: dict[str, Kind] = {
    "d": "change",
    "difference": "change",
    "r": "receipt",
    "receipt": "receipt",
    "p": "pause",
    "pause": "pause",
    "q": "stop",
    "stop": "stop",
    "?": "help",
    "help": "help",
    "+": "more",
    "-": "less",
    "next": "next",
    "back": "back",
    "end": "end",
}


@dataclass(frozen=True)
class Line:
    """Say what is wanted, with its text."""

    kind: Kind
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
    words = " ".join(text.lower().split())
    if words in AIDS:
        return Line("aid", words)
    if words == TAKE_BACK:
        return Line("take_back", words)
    tone = next((choice for choice, name in TONES.items() if name.lower() == words), None)
    if tone is not None:
        return Line("tone", tone)
    if words in ("tone", "tones"):
        return Line("tones", words)
    return Line(COMMANDS[words], words) if words in COMMANDS else Line("unknown", text)
