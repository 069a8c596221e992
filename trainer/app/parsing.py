"""The parser of arguments, whose complaints are one line each."""

from __future__ import annotations

import argparse
import re
import sys
from typing import NoReturn

from trainer.errors import BadValue

# How the library words a choice that is none.
CHOICE = re.compile(r"argument (?P<name>[\w-]+): invalid choice: '(?P<value>.*)' \(choose from (?P<known>.*)\)")


class Parser(argparse.ArgumentParser):
    """A parser whose complaint is one line."""

    def error(self, message: str) -> NoReturn:
        """Refuse the arguments; a choice that is none by its own name and value alone."""
        chosen = CHOICE.fullmatch(message)
        if chosen is not None:
            known = ", ".join(re.findall(r"'?([\w-]+)'?", chosen["known"]))
            raise BadValue(self.prog, chosen["name"], chosen["value"], f"one of {known}")
        raise BadValue("evenhand", "arguments", " ".join(sys.argv[1:]) or "none", f"other ones: {message}; see --help")
