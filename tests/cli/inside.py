"""What a command left that was carried out in this process."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Done:
    """What a command left: its status and what it printed."""

    returncode: int
    stdout: str
    stderr: str
