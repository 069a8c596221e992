"""The word length that samples really use, whatever the file says."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

MOST_BITS = 24


class WordLengthMeter:
    """Collect the bits in use, block by block; stops looking when all 24 are."""

    def __init__(self) -> None:
        self._used = np.int32(0)
        self._exact = True

    @property
    def _settled(self) -> bool:
        return not self._exact or bool(self._used & 1)

    def add(self, block: npt.NDArray[np.float32]) -> None:
        """Take the next block, shape (channels, frames)."""
        if self._settled:
            return
        scaled = block * np.float32(2 ** (MOST_BITS - 1))
        whole = scaled.astype(np.int64)
        if not np.array_equal(whole, scaled):
            self._exact = False
            return
        self._used |= np.int32(np.bitwise_or.reduce(whole, axis=None) & 0x7FFFFFFF)

    def finish(self) -> int | None:
        """Give the bits in use, 1 to 24, sign included; None for silence and for values between all steps."""
        used = int(self._used)
        if not self._exact or used == 0:
            return None
        trailing = (used & -used).bit_length() - 1
        return MOST_BITS - trailing
