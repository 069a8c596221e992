"""Sound files out."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from trainer.errors import BadValue


def write_float_wav(path: Path, samples: npt.NDArray[np.float32], rate_hz: int) -> None:
    """Write samples, shape (frames, 2), bit for bit as a 32-bit float WAV."""
    try:
        soundfile.write(str(path), samples, rate_hz, subtype="FLOAT", format="WAV")
    except (soundfile.LibsndfileError, RuntimeError, OSError):
        raise BadValue("out", "file", path, "a place that can be written") from None


def write_flac(path: Path, samples: npt.NDArray[np.float32], rate_hz: int) -> None:
    """Write samples, shape (frames, 2), none above full scale, as a FLAC of 24 bits."""
    try:
        soundfile.write(str(path), samples, rate_hz, subtype="PCM_24", format="FLAC")
    except (soundfile.LibsndfileError, RuntimeError, OSError):
        raise BadValue("out", "file", path, "a place that can be written") from None


def refuse_overwriting(paths: list[Path], force: bool) -> None:
    """See that none of the files exists, unless overwriting was asked for.

    Raises
    ------
    BadValue
        For the first that does.
    """
    for path in paths:
        if path.exists() and not force:
            raise BadValue("out", "file", path, "a file that does not exist yet; --force overwrites")
