"""Shorter words: samples rounded to a number of bits, with and without dither."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.errors import BadValue

FEWEST_BITS, MOST_BITS = 8.0, 24.0
# Triangular, as wide as two steps from end to end.
TPDF_LSB = 2.0


class Quantiser:
    """Round rows of samples to a word length, block by block.

    Parameters
    ----------
    bits : float, 8 to 24
        Word length; full scale is 2 ** (bits - 1) steps, which need not be a power of two.
    dither_lsb : float, 0 or 2
        Width of the triangular dither from end to end, in steps; 0 for none.
    rng : Generator
        Where the dither comes from; drawn frame by frame, so that the result does not depend on the blocks.

    Raises
    ------
    BadValue
        If the word length or the dither is another.

    Notes
    -----
    S. P. Lipshitz, R. A. Wannamaker and J. Vanderkooy, "Quantization and dither: a theoretical survey", JAES 40(5),
    1992: with this dither mean and power of the error do not depend on the signal; its power is a quarter of a
    step squared. Values above full scale are rounded, not clipped.
    """

    latency_frames = 0

    def __init__(self, bits: float, dither_lsb: float, rng: np.random.Generator) -> None:
        if not FEWEST_BITS <= bits <= MOST_BITS:
            raise BadValue("word length", "bits", f"{bits:g}", f"{FEWEST_BITS:g} to {MOST_BITS:g}")
        if dither_lsb not in (0.0, TPDF_LSB):
            raise BadValue("word length", "dither_lsb", f"{dither_lsb:g}", f"0 or {TPDF_LSB:g}")
        self._step = step_of_bits(bits)
        self._dithered = dither_lsb > 0
        self._rng = rng

    def process(self, block: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Round a block, shape (channels, frames)."""
        scaled = block / self._step
        if self._dithered:
            drawn = self._rng.random((block.shape[1], block.shape[0], 2))
            scaled = scaled + (drawn[:, :, 0] + drawn[:, :, 1] - 1.0).T
        # Half-way values go up, always: rounding to even would make an idle channel special.
        return np.asarray(np.floor(scaled + 0.5) * self._step)


def step_of_bits(bits: float) -> float:
    """Give the step of a word length; full scale is 1.0."""
    return float(2.0 ** (1.0 - bits))


def shorten_words(
    samples: npt.NDArray[np.floating], bits: float, dither_lsb: float, rng: np.random.Generator
) -> npt.NDArray[np.float64]:
    """Round samples, shape (frames, channels), to a word length; see `Quantiser`."""
    rows = np.asarray(samples.T, dtype=np.float64)
    return np.asarray(Quantiser(bits, dither_lsb, rng).process(rows).T)
