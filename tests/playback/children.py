"""Run `perform.py` in a child process, with its own environment."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np

import trainer

from .signals import Samples

PROGRAM = Path(__file__).with_name("perform.py")
ROOT = Path(trainer.__file__).parents[1]
LIMIT_S = 25.0

Steps = list[list[Any]]


def run_steps(
    folder: Path,
    steps: Steps,
    versions: Samples,
    rate_hz: int,
    environment: dict[str, str],
    **options: bool,
) -> dict[str, Any]:
    """Play steps in a child process and give its report; a hang fails after 25 s."""
    np.save(folder / "versions.npy", versions)
    script = {"versions": str(folder / "versions.npy"), "rate_hz": rate_hz, "steps": steps, **options}
    (folder / "script.json").write_text(json.dumps(script))
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("SDL_", "EVENHAND_"))}
    done = subprocess.run(
        [sys.executable, str(PROGRAM), str(folder / "script.json")],
        env={**kept, "PYTHONPATH": str(ROOT), **environment},
        capture_output=True,
        text=True,
        timeout=LIMIT_S,
        check=False,
    )
    assert done.returncode == 0, f"{done.returncode}: {done.stderr}"
    assert "Traceback" not in done.stderr, done.stderr
    report: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return report


def run_to_disk(
    folder: Path, steps: Steps, versions: Samples, rate_hz: int, delay_ms: int = 1, **options: bool
) -> tuple[dict[str, Any], Samples]:
    """Play through SDL's disk driver, which writes what a device would get; give the report and the sound.

    The driver asks for a block of 2048 frames every `delay_ms`, so time runs faster than in life.
    """
    written = folder / "written.raw"
    environment = {
        "SDL_AUDIODRIVER": "disk",
        "SDL_DISKAUDIOFILE": str(written),
        "SDL_DISKAUDIODELAY": str(delay_ms),
        "EVENHAND_OUTPUT": "sdl",
    }
    report = run_steps(folder, steps, versions, rate_hz, environment, **options)
    return report, np.fromfile(written, dtype=np.float32).reshape(-1, 2)
