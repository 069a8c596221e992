"""Steps of 10 ms, on which everything that follows the course of a file is kept."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

STEP_S = 0.01
# Blocks in which a file is read: whole steps at every rate that is a whole number of frames a second.
BLOCK_STEPS = 500

Wave = npt.NDArray[np.float64]


def block_frames(rate_hz: int) -> int:
    """Give the length of the blocks in which a file is read: 5 s."""
    return BLOCK_STEPS * rate_hz // 100


def list_step_starts(frames: int, rate_hz: int) -> npt.NDArray[np.int_]:
    """List where the steps of a block begin; a last part step counts, one shorter than a frame does not."""
    count = -(-frames * 100 // rate_hz)
    starts = np.arange(count, dtype=np.int64) * rate_hz // 100
    return np.asarray(starts[starts < frames])


def sum_steps(values: Wave, rate_hz: int) -> Wave:
    """Sum the frames of each step.

    Parameters
    ----------
    values : ndarray, shape (rows, frames)
        A block.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    ndarray, shape (rows, steps)
        Sums; of a last part step what there is.
    """
    if values.shape[1] == 0:
        return np.zeros((values.shape[0], 0))
    return np.asarray(np.add.reduceat(values, list_step_starts(values.shape[1], rate_hz), axis=1))


def multiply_steps(one: Wave, other: Wave, rate_hz: int) -> Wave:
    """Sum the product of two blocks, shape (rows, frames), over each step, shape (rows, steps)."""
    step = rate_hz // 100
    if rate_hz % 100 or one.shape[1] % step:
        return sum_steps(one * other, rate_hz)
    shape = (one.shape[0], one.shape[1] // step, step)
    return np.asarray(np.einsum("rsf,rsf->rs", one.reshape(shape), other.reshape(shape)))


def peak_steps(magnitudes: npt.NDArray[np.floating], rate_hz: int) -> npt.NDArray[np.floating]:
    """Give the highest value of each step of a block, shape (rows, frames) to (rows, steps)."""
    step, (rows, frames) = rate_hz // 100, magnitudes.shape
    if frames == 0:
        return np.zeros((rows, 0))
    if rate_hz % 100 or frames % step:
        return np.asarray(np.maximum.reduceat(magnitudes, list_step_starts(frames, rate_hz), axis=1))
    return np.asarray(magnitudes.reshape(rows, frames // step, step).max(axis=2))


def count_step_frames(frames: int, rate_hz: int) -> Wave:
    """Count the frames of each step of a whole file, shape (steps,)."""
    return np.diff(np.append(list_step_starts(frames, rate_hz), frames)).astype(np.float64)
