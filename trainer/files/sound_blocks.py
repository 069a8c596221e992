"""Sound files read in blocks, so that an hour takes no more memory than a minute."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from trainer.audio.file_form import FileForm
from trainer.errors import BadValue
from trainer.files.sound_reading import HIGHEST_RATE_HZ, LOWEST_RATE_HZ

BIT_DEPTHS = {"PCM_S8": 8, "PCM_U8": 8, "PCM_16": 16, "PCM_24": 24, "PCM_32": 32, "FLOAT": 32, "DOUBLE": 64}
FORMATS = {"WAVEX": "WAV", "RF64": "WAV", "MPEG": "MP3"}
UNREADABLE = (soundfile.LibsndfileError, RuntimeError, OSError, TypeError, ValueError)


class SoundBlocks:
    """Give a file's form, and its samples block by block."""

    def __init__(self, file: soundfile.SoundFile, form: FileForm) -> None:
        self._file, self.form, self.frames_read = file, form, 0

    def read(self, frames: int) -> Iterator[npt.NDArray[np.float32]]:
        """Read to the end, shape (channels, frames), float32, contiguous.

        Raises
        ------
        BadValue
            If a value is no number; it names the place.
        """
        where = Path(self.form.file).name
        while True:
            try:
                block = self._file.read(frames, dtype="float32", always_2d=True)
            except UNREADABLE:  # the rest of a file that was cut off
                return
            if block.shape[0] == 0:
                return
            _refuse_no_numbers(where, block, self.frames_read, self.form.sample_rate_hz)
            self.frames_read += block.shape[0]
            yield np.ascontiguousarray(block.T)

    def read_part(self, first: int, frames: int) -> npt.NDArray[np.float32]:
        """Read some frames from a place on, shape (channels, frames)."""
        self._file.seek(first)
        return np.ascontiguousarray(self._file.read(frames, dtype="float32", always_2d=True).T)


@contextmanager
def open_sound(path: str) -> Iterator[SoundBlocks]:
    """Open a sound file of one or two channels, 8 to 192 kHz.

    Raises
    ------
    BadValue
        If there is no such file, it is no sound, empty, of more channels or of another rate; one line.
    """
    place = Path(path).expanduser()
    if not place.exists():
        raise BadValue("audio", "file", path, "a file that exists")
    if place.is_dir():
        raise BadValue("audio", "file", path, "a sound file, not a folder")
    try:
        file = soundfile.SoundFile(str(place))
    except UNREADABLE:
        raise BadValue("audio", "file", path, "a readable WAV, FLAC, AIFF, OGG or MP3 file") from None
    with file:
        yield SoundBlocks(file, _read_form(path, file))


def _read_form(path: str, file: soundfile.SoundFile) -> FileForm:
    """Read the head, and refuse what cannot be measured."""
    where = Path(path).name
    if file.channels not in (1, 2):
        raise BadValue(where, "channels", file.channels, "1 or 2; make a stereo bounce first")
    if not LOWEST_RATE_HZ <= file.samplerate <= HIGHEST_RATE_HZ:
        raise BadValue(where, "sample_rate_hz", file.samplerate, f"{LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ}")
    if file.frames == 0:
        raise BadValue(where, "frames", 0, "a file with sound in it; bounce it again")
    cut_off = "data : " in file.extra_info and "should be" in file.extra_info.split("data : ", 1)[1].split("\n", 1)[0]
    notes = ("file: shorter than its head says, probably cut off; bounce it again",) if cut_off else ()
    return FileForm(
        path,
        FORMATS.get(file.format, file.format),
        file.subtype,
        int(file.samplerate),
        int(file.channels),
        int(file.frames),
        BIT_DEPTHS.get(file.subtype),
        notes,
    )


def _refuse_no_numbers(where: str, block: npt.NDArray[np.float32], before: int, rate_hz: int) -> None:
    """Refuse infinities and what is no number: one sum tells, as either spoils it."""
    if np.isfinite(block.sum(dtype=np.float64)):
        return
    bad = np.flatnonzero(~np.isfinite(block).all(axis=1))
    if bad.size:
        place = f"not a number at {(before + bad[0]) / rate_hz:.3f} s"
        raise BadValue(where, "samples", place, "finite values throughout")
