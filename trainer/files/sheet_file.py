"""The decision sheet on disk: exact, readable YAML, written beside and renamed when it is whole."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from trainer.decisions.sheet import Sheet
from trainer.decisions.sheet_document import list_sheet, read_sheet
from trainer.errors import BadValue, BadValues
from trainer.files.whole_file import write_whole
from trainer.files.yaml_text import LOADER, MOST_BYTES, load_yaml

WIDTH = 120
# The writer in C, where the library was built with it: a sheet of hundreds of findings is written at every change.
DUMPER: type[yaml.SafeDumper] = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
# How files of sound begin: RIFF WAVE, RF64, AIFF, FLAC, Ogg.
SOUNDS = (b"RIFF", b"RF64", b"FORM", b"fLaC", b"OggS")


class _Plain(DUMPER):  # type: ignore[misc, valid-type]
    """Plain YAML: no aliases, lists of numbers on one line."""

    def ignore_aliases(self, data: Any) -> bool:
        """Write everything out where it stands."""
        return True

    def represent_numbers(self, data: list[Any]) -> yaml.Node:
        """Write a list of numbers, or of pairs of them, on one line."""
        flat = all(
            isinstance(item, (int, float)) or (isinstance(item, list) and all(isinstance(x, float) for x in item))
            for item in data
        )
        node: yaml.Node = self.represent_sequence("tag:yaml.org,2002:seq", data, flow_style=flat)
        return node


_Plain.add_representer(list, _Plain.represent_numbers)


def format_sheet(sheet: Sheet) -> str:
    """Write a sheet as YAML text that reads back as the same sheet, every number bit for bit."""
    return str(yaml.dump(list_sheet(sheet), Dumper=_Plain, sort_keys=False, allow_unicode=True, width=WIDTH))


def write_sheet(path: Path, sheet: Sheet) -> None:
    """Write a sheet; what was there stays until the new file is whole and has been read back.

    Raises
    ------
    BadValue
        If it cannot be written.
    BadValues
        If it holds what could not be read again; nothing is changed then.
    """
    read_sheet(list_sheet(sheet), path.name)
    data = format_sheet(sheet).encode("utf-8")
    if len(data) > MOST_BYTES:
        raise BadValue(path.name, "bytes", len(data), f"at most {MOST_BYTES}")
    if read_sheet(yaml.load(data, Loader=LOADER), path.name) != sheet:
        raise BadValue(path.name, "sheet", "not the same when read back", "numbers as floats and lists as tuples")
    _replace(path, data)


def open_sheet(path: Path) -> Sheet:
    """Read a sheet.

    Raises
    ------
    BadValue, BadValues
        If it cannot be read, or is no sheet; every fault is a line.
    """
    _refuse_other(path)
    try:
        document = load_yaml(path)
    except (ValueError, OverflowError):
        document = None  # a value that is none, such as a 31st of February: named with its line below
    faults = tuple(_list_broken(path))
    if faults:
        raise BadValues(faults)
    return read_sheet(document, path.name)


def _replace(path: Path, data: bytes) -> None:
    """Put a sheet in the place of the one before."""
    try:
        with write_whole(path) as beside:
            beside.write_bytes(data)
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise BadValue("sheet", "file", path, f"a place that can be written ({reason})") from None


def _refuse_other(path: Path) -> None:
    """Refuse at once what is no sheet at all: an empty file, and what is not text, such as a sound."""
    try:
        with path.open("rb") as file:
            begin = file.read(MOST_BYTES)
    except OSError:
        return  # told in the reader's words
    if begin[:4] in SOUNDS or b"\x00" in begin or not begin.strip():
        raise BadValue(path.name, "file", path.stem, "a decision sheet (sheet.yaml)")


def _list_broken(path: Path) -> Iterator[BadValue]:
    """List, with their lines, keys that stand twice and values that are none: what a loader hides or stumbles over."""
    try:
        root = yaml.compose(path.read_bytes().decode("utf-8"), Loader=LOADER)
    except (OSError, UnicodeDecodeError, yaml.YAMLError) as error:
        yield BadValue(path.name, "file", path, f"a file that stays as it is while it is read ({type(error).__name__})")
        return
    nodes = [] if root is None else [root]
    maker = yaml.SafeLoader("")
    while nodes:
        node = nodes.pop()
        line = node.start_mark.line + 1
        if isinstance(node, yaml.MappingNode):
            keys = [key.value for key, _ in node.value if isinstance(key, yaml.ScalarNode)]
            for key in dict.fromkeys(key for key in keys if keys.count(key) > 1 or key == "<<"):
                yield BadValue(f"{path.name}, line {line}", "key", key, "a key that stands there once")
            nodes += [child for pair in reversed(node.value) for child in reversed(pair)]
        elif isinstance(node, yaml.SequenceNode):
            nodes += reversed(node.value)
        elif node.tag != "tag:yaml.org,2002:merge":
            try:
                maker.construct_object(node)
            except (ValueError, OverflowError):
                yield BadValue(f"{path.name}, line {line}", "value", node.value, "a number or a date that exists")
