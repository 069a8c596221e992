"""Names and versions of everything that has a part in the sound."""

from __future__ import annotations

import hashlib
import platform
import re
import subprocess

import numpy as np
import scipy
import soundfile as sf

from .soundfont import SOUND_FONT


def _first_version(command: list[str]) -> str:
    """The first number with dots that a program says of itself."""
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    match = re.search(r"\d+(\.\d+)+", said)
    return match.group(0) if match else "unknown"


def versions() -> dict[str, str]:
    """Return the tools with which a song is made; other versions may give other bytes."""
    font = hashlib.sha256(SOUND_FONT.read_bytes()).hexdigest()
    return {
        "python": platform.python_version(),
        "numpy": np.__version__,
        "scipy": scipy.__version__,
        "libsndfile": sf.__libsndfile_version__,
        "fluidsynth": _first_version(["fluidsynth", "--version"]),
        "espeak-ng": _first_version(["espeak-ng", "--version"]),
        "sound font": f"FluidR3_GM.sf2, sha256 {font}",
    }
