"""A person at a terminal: reads what is offered and types the number of what is wanted."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence

from trainer.session.screens import Program
from trainer.text.drill import Terminal
from trainer.text.pages import TextProgram


def lead(program: Program, wanted: Sequence[str]) -> str:
    """Lead a program by lines; a line of the form ``[label]`` types the number of that offer. Gives what was said."""
    out = io.StringIO()

    def type_lines() -> Iterator[str]:
        for line in wanted:
            label = re.fullmatch(r"\[(.*)\]", line)
            if label is None:
                yield f"{line}\n"
                continue
            numbers = re.findall(rf"^=(\d+) {re.escape(label[1])}", out.getvalue(), flags=re.MULTILINE)
            assert numbers, f"{label[1]} is not offered in {out.getvalue()}"
            yield f"={numbers[-1]}\n"
        yield "q\n"

    TextProgram(program, Terminal(type_lines(), out, io.StringIO(), False)).play()
    return out.getvalue()
