"""YAML, safely: no tags, no aliases, bounded size and depth."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from trainer.errors import BadValue

MOST_BYTES = 1_000_000
MOST_DEPTH = 12
# The parser in C, where the library was built with it, is ten times faster.
LOADER: type[yaml.SafeLoader] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def load_yaml(path: Path) -> Any:
    """Load a YAML file.

    Parameters
    ----------
    path : Path
        The file, UTF-8, at most 1 MB.

    Returns
    -------
    object
        Mappings, lists and plain values.

    Raises
    ------
    BadValue
        If it cannot be read or is no plain YAML; with the line where the parser stopped.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise BadValue(path.name, "file", path, f"a readable file ({(error.strerror or '').lower()})") from None
    if len(data) > MOST_BYTES:
        raise BadValue(path.name, "bytes", len(data), f"at most {MOST_BYTES}")
    try:
        text = data.decode("utf-8")
        _refuse_aliases_and_depth(text, path.name)
        return yaml.load(text, Loader=LOADER)
    except UnicodeDecodeError:
        raise BadValue(path.name, "encoding", "not UTF-8", "a text file in UTF-8") from None
    except yaml.YAMLError as error:
        raise _word_error(error, path.name, text) from None


def _refuse_aliases_and_depth(text: str, where: str) -> None:
    """Walk the events before anything is built: an alias could blow up memory, depth the stack."""
    depth = 0
    for event in yaml.parse(text, Loader=LOADER):
        line = event.start_mark.line + 1 if event.start_mark else 0
        if isinstance(event, yaml.AliasEvent):
            raise BadValue(where, "line", line, "no aliases (*name)")
        depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
        if depth > MOST_DEPTH:
            raise BadValue(where, "line", line, f"at most {MOST_DEPTH} levels")


def _word_error(error: yaml.YAMLError, where: str, text: str) -> BadValue:
    """Put a parser's complaint into one line."""
    mark = getattr(error, "problem_mark", None)
    problem = " ".join(str(getattr(error, "problem", None) or "not YAML").split())
    line = "?" if mark is None else mark.line + 1
    if "nesting depth" in problem:
        return BadValue(where, "line", line, f"at most {MOST_DEPTH} levels")
    tabbed = mark is not None and "\t" in "".join(text.splitlines()[mark.line : mark.line + 1])
    return BadValue(where, "line", line, f"YAML {'with spaces for indents' if tabbed else 'that is valid'} ({problem})")
