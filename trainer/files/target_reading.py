"""The delivery targets there are: those that ship with the program and a person's own."""

from __future__ import annotations

from pathlib import Path

from trainer.decisions.target import Target, read_targets
from trainer.errors import BadValue
from trainer.files.folders import find_bundled
from trainer.files.yaml_text import load_yaml

FILE = "targets.yaml"


def list_targets(data_folder: Path) -> dict[str, Target]:
    """List all targets by name; one in ``targets.yaml`` of the data folder replaces the shipped one of its name.

    Raises
    ------
    BadValues, BadValue
        If a file is broken; every fault of it is a line.
    """
    targets = read_targets(load_yaml(find_bundled("exercises") / "targets" / FILE), FILE)
    own = data_folder / FILE
    return targets | read_targets(load_yaml(own), str(own)) if own.is_file() else targets


def find_target(targets: dict[str, Target], name: str) -> Target:
    """Find a target by its name.

    Raises
    ------
    BadValue
        With the names there are, if there is none.
    """
    if name not in targets:
        raise BadValue("target", "name", name, f"one of {', '.join(targets)}")
    return targets[name]
