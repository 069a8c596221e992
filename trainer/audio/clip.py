"""A piece of stereo sound with its rate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.errors import BadValue

Samples = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Clip:
    """Hold stereo sound.

    Parameters
    ----------
    samples : ndarray of float32, shape (frames, 2)
        Full scale is 1.0; values above it are allowed. Read-only.
    rate_hz : int
        Frames a second, above 0.

    Raises
    ------
    BadValue
        If the shape or the rate is not as said.
    """

    samples: Samples
    rate_hz: int

    def __post_init__(self) -> None:
        if self.samples.ndim != 2 or self.samples.shape[1] != 2:
            raise BadValue("clip", "shape", self.samples.shape, "(frames, 2)")
        if self.rate_hz <= 0:
            raise BadValue("clip", "rate_hz", self.rate_hz, "a rate above 0 Hz")
        if self.samples.dtype != np.float32:
            raise BadValue("clip", "dtype", self.samples.dtype, "float32")
        self.samples.setflags(write=False)

    @property
    def frames(self) -> int:
        """Length in frames."""
        return int(self.samples.shape[0])

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.frames / self.rate_hz

    def with_samples(self, samples: npt.NDArray[np.floating]) -> Clip:
        """Give a clip of the same rate with other samples, shape (frames, 2), stored as float32."""
        return Clip(np.ascontiguousarray(samples, dtype=np.float32), self.rate_hz)
