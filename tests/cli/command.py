"""Run the command as a person does: in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
# A program that a person starts finds no display of the tests', and nothing that the program itself set in them.
DROPPED = (
    "DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER", "PYTHONDONTWRITEBYTECODE", "PYGAME_HIDE_SUPPORT_PROMPT",
    "SDL_VIDEO_X11_WMCLASS",
)  # fmt: skip


def make_environment(data: Path, **changes: str) -> dict[str, str]:
    """Give an environment with a data folder of the test's own and no display; modules are compiled once, as usual."""
    environment = {**os.environ, "EVENHAND_DATA": str(data), "PYTHONPATH": str(ROOT), **changes}
    for name in DROPPED:
        if name not in changes:
            environment.pop(name, None)
    return environment


def run(data: Path, *arguments: str, lines: str = "", **changes: str) -> subprocess.CompletedProcess[str]:
    """Run the command from another folder, with lines on its standard input."""
    return subprocess.run(
        [sys.executable, "-m", "trainer", *arguments],
        input=lines,
        cwd=data.parent,
        env=make_environment(data, **changes),
        capture_output=True,
        text=True,
        timeout=120,
    )
