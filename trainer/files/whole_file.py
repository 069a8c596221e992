"""Files that are there whole or not at all: written beside, and given their name at the end."""

from __future__ import annotations

import glob
import os
import time
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

# So much of a name fits into the name of what is beside it, whatever its letters.
LETTERS = 50
# What is older was left behind by a process that was ended; nobody writes that long without a pause.
LEFT_BEHIND_S = 3600.0


@contextmanager
def write_whole(path: Path, synced: bool = True) -> Iterator[Path]:
    """Give a place beside a file; what is written there takes the file's name at the end, and is gone after an error.

    Parameters
    ----------
    path : Path
        The file; folders on the way are made, what is there is replaced.
    synced : bool
        See that it is on the disk before it takes the name: what was there is lost to no power cut.

    Yields
    ------
    Path
        Where to write.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    begun = f".{path.name[:LETTERS]}.{zlib.crc32(path.name.encode('utf-8', 'surrogateescape')):08x}"
    beside = path.with_name(f"{begun}.{os.getpid()}.part")
    path.parent.mkdir(parents=True, exist_ok=True)
    _sweep(path.parent, begun)
    try:
        yield beside
        if synced:
            with beside.open("r+b") as file:
                os.fsync(file.fileno())
        beside.replace(path)
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


def _sweep(folder: Path, begun: str) -> None:
    """Take away what was left behind beside the same file."""
    for left in folder.glob(f"{glob.escape(begun)}.*.part"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > LEFT_BEHIND_S:
                left.unlink()
