"""Sound files that are a head alone: so long as it says, and of no size on the disk."""

from __future__ import annotations

import struct
from pathlib import Path


def write_head(path: Path, seconds: int, rate_hz: int) -> None:
    """Write a RIFF head that promises so many seconds of 16 bits on two channels, and leave the sound out."""
    length = seconds * rate_hz * 4
    with path.open("wb") as file:
        file.write(b"RIFF" + struct.pack("<I", 36 + length) + b"WAVEfmt ")
        file.write(struct.pack("<IHHIIHH", 16, 1, 2, rate_hz, 4 * rate_hz, 4, 16) + b"data" + struct.pack("<I", length))
        file.truncate(44 + length)
