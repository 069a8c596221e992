"""Long sound written in blocks: a scratch file between two passes, and the file itself."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

import numpy as np
import numpy.typing as npt
import soundfile

from trainer.errors import BadValue
from trainer.files.whole_file import make_folder

SUBTYPES = {16: "PCM_16", 24: "PCM_24", 32: "FLOAT"}
# A WAV's sizes have 32 bits; what is longer takes the form with 64, which readers know as WAV too.
LONGEST_WAV_BYTES = 2**32 - 2**16
FAULTS = (soundfile.LibsndfileError, RuntimeError, OSError, AssertionError)


class Scratch:
    """Hold sound of two channels, single precision, on the disk."""

    def __init__(self, file: BinaryIO, where: Path) -> None:
        self._file, self._where, self.frames = file, where, 0

    def write(self, block: npt.NDArray[np.float32]) -> None:
        """Add a block, shape (2, frames).

        Raises
        ------
        BadValue
            If the disk is full.
        """
        try:
            self._file.write(np.ascontiguousarray(block.T, dtype="<f4").tobytes())
        except OSError as error:
            raise refuse_place(self._where, error) from None
        self.frames += block.shape[1]

    def read(self, frames: int) -> Iterator[npt.NDArray[np.float64]]:
        """Read all from the start in blocks, shape (2, frames)."""
        try:
            self._file.seek(0)  # what is still held back is written first
            while data := self._file.read(8 * frames):
                yield np.frombuffer(data, dtype="<f4").reshape(-1, 2).T.astype(np.float64)
        except OSError as error:
            raise refuse_place(self._where, error) from None

    def clear(self) -> None:
        """Begin again."""
        self._file.seek(0)
        self._file.truncate()
        self.frames = 0


@contextmanager
def open_scratch(beside: Path) -> Iterator[Scratch]:
    """Open a scratch file in the folder of the file that is to be made; it is gone when closed, however that comes.

    A folder that was made for it is gone too after an error.

    Raises
    ------
    BadValue
        If the folder cannot be written.
    """
    with ExitStack() as stack:
        try:
            stack.enter_context(make_folder(beside.parent))
            file = stack.enter_context(tempfile.TemporaryFile(dir=beside.parent))
        except OSError as error:
            raise refuse_place(beside, error) from None
        try:
            yield Scratch(file, beside)
        finally:
            # A full disk shows again when the file is closed; by then it has been told.
            with suppress(OSError):
                file.close()


def write_sound(
    path: Path, blocks: Iterator[npt.NDArray[np.generic]], frames: int, rate_hz: int, bit_depth: int, file_format: str
) -> None:
    """Write a sound file of two channels, and see that all of it is there.

    Parameters
    ----------
    path : Path
        Its place, such as `write_whole` gives it, whatever its suffix.
    blocks : iterator of ndarray, shape (2, frames)
        Whole numbers of so many bits, or single precision for 32.
    frames : int
        How many there will be.
    rate_hz, bit_depth : int
        Rate; 16, 24 or 32.
    file_format : str
        ``WAV`` or ``FLAC``.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    big = file_format == "WAV" and frames * 2 * bit_depth // 8 > LONGEST_WAV_BYTES
    try:
        with soundfile.SoundFile(
            str(path), "w", rate_hz, 2, SUBTYPES[bit_depth], format="RF64" if big else file_format
        ) as file:
            for block in blocks:
                file.write(_align(block, bit_depth))
        if soundfile.info(str(path)).frames != frames:
            raise OSError("no room for all of it")
    except FAULTS as error:
        raise OSError(_find_reason(error)) from None
    _forget_time(path)


def _align(block: npt.NDArray[np.generic], bit_depth: int) -> npt.NDArray[np.generic]:
    """Lay samples as the library takes them: the upper bits of 16 or 32. Floats it would scale by one step less."""
    if bit_depth == 32:
        return np.ascontiguousarray(block.T)
    if bit_depth == 16:
        return np.ascontiguousarray(block.T, dtype=np.int16)
    return np.ascontiguousarray(block.T, dtype=np.int32) << 8


def _forget_time(path: Path) -> None:
    """Take the time of day out of the head of a floating-point WAV, so that one sound is one file."""
    with path.open("r+b") as file:
        place = file.read(256).find(b"PEAK")
        if place >= 0:
            file.seek(place + 12)
            file.write(bytes(4))


def refuse_place(path: Path, error: BaseException) -> BadValue:
    """Say in one line why nothing was written."""
    expected = f"a place that can be written, with room for it ({_find_reason(error).lower().rstrip('.')})"
    return BadValue("bounce", "--out", path, expected)


def _find_reason(error: BaseException) -> str:
    return getattr(error, "strerror", None) or str(error) or type(error).__name__
