"""Files that are there whole or not at all: written beside, and given their names together at the end."""

from __future__ import annotations

import errno
import glob
import os
import time
import zlib
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
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
        If it cannot be written; folders that were made on the way are gone again.
    """
    with write_all([path], synced) as (beside,):
        yield beside


@contextmanager
def write_all(paths: Sequence[Path], synced: bool = True) -> Iterator[tuple[Path, ...]]:
    """Give a place beside each of several files; all take their names at the end, or none does.

    Parameters
    ----------
    paths : sequence of Path
        The files, no two of one name; folders on the way are made, what is there is replaced.
    synced : bool
        See that all are on the disk before the first one takes its name.

    Yields
    ------
    tuple of Path
        Where to write each.

    Raises
    ------
    OSError
        If one cannot be written or given its name; all is then as it was before.
    """
    with ExitStack() as folders:
        besides = []
        for path in paths:
            folders.enter_context(make_folder(path.parent))
            begun = f".{path.name[:LETTERS]}.{zlib.crc32(path.name.encode('utf-8', 'surrogateescape')):08x}"
            besides.append(path.with_name(f"{begun}.{os.getpid()}.part"))
            _sweep(path.parent, begun)
        try:
            yield tuple(besides)
            for beside in besides:
                _see(beside, synced)
            _give_names(paths, besides)
        finally:
            for beside in besides:
                with suppress(OSError):
                    beside.unlink(missing_ok=True)


@contextmanager
def make_folder(folder: Path) -> Iterator[None]:
    """Make a folder, and those on the way to it; after an error those that were not there are gone again.

    Raises
    ------
    OSError
        If it cannot be made.
    """
    missing = [each for each in (folder, *folder.parents) if not each.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except BaseException:
        for each in missing:
            with suppress(OSError):
                each.rmdir()
        raise


def _see(beside: Path, synced: bool) -> None:
    """See that something was written, and that it is on the disk."""
    with beside.open("r+b") as file:
        if synced:
            os.fsync(file.fileno())


def _give_names(paths: Sequence[Path], besides: Sequence[Path]) -> None:
    """Rename all, what was there put aside first; where one cannot be renamed, all goes back."""
    asides = [beside.with_suffix(".old") for beside in besides]
    try:
        for path in paths:
            if path.is_dir():
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
        # The last one need not be put aside: once it has its name, nothing goes back.
        for path, aside in zip(paths[:-1], asides, strict=False):
            if os.path.lexists(path):
                path.replace(aside)
        for path, beside in zip(paths, besides, strict=True):
            beside.replace(path)
    finally:
        done = not os.path.lexists(besides[-1])
        for path, beside, aside in zip(paths, besides, asides, strict=True):
            with suppress(OSError):
                _tidy(path, beside, aside, done)


def _tidy(path: Path, beside: Path, aside: Path, done: bool) -> None:
    """Take away what was put aside, or put it back; what took a name that nothing had is taken away then."""
    if done:
        aside.unlink(missing_ok=True)
    elif os.path.lexists(aside):
        aside.replace(path)
    elif not os.path.lexists(beside):
        path.unlink()


def _sweep(folder: Path, begun: str) -> None:
    """Take away what was left behind beside the same file."""
    for left in folder.glob(f"{glob.escape(begun)}.*.part"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > LEFT_BEHIND_S:
                left.unlink()
