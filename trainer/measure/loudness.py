"""Integrated loudness of ITU-R BS.1770 for a file from start to end, and for a loop round and round."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from trainer.audio.loops import extend_loop
from trainer.measure import standards
from trainer.measure.weighting import weight_k

# Run-up for the K-weighting's memory: its slowest pole, at 38 Hz, is 200 dB down after a second.
RUN_UP_S = 1.0
# A loop is read over this many rounds, so that blocks fall on many different places of it.
LOOP_ROUNDS = 10


def measure_integrated_lufs(samples: npt.NDArray[np.floating], rate_hz: int) -> float:
    """Measure gated loudness from start to end.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        One or two channels, each weighted 1.0.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    float
        Loudness, LUFS; minus infinity where no block passes the absolute gate or none fits.

    Notes
    -----
    ITU-R BS.1770-5, Annex 1.
    """
    power = (weight_k(samples, rate_hz) ** 2).sum(axis=1)
    step = standards.BLOCK_STEP_S * rate_hz
    spare = power.size - _block_frames(rate_hz)
    places = np.round(np.arange(0 if spare < 0 else int(spare / step) + 1) * step).astype(int)
    return gate_blocks(_average_blocks(power, places, rate_hz))


def measure_loop_lufs(samples: npt.NDArray[np.floating], rate_hz: int) -> float:
    """Measure gated loudness of a loop that is heard round and round.

    The filters are run up with the loop's own tail and the 400 ms blocks go on across the seam. The blocks of a loop
    of whole 100 ms fall on one grid in every round, from its first frame on: any meter that reads the repetition
    from its start shows this figure, also where a block lies at the edge of the relative gate.

    Parameters
    ----------
    samples : ndarray, shape (frames, channels)
        One round.
    rate_hz : int
        Sampling rate.

    Returns
    -------
    float
        Loudness, LUFS; minus infinity for silence.

    Notes
    -----
    ITU-R BS.1770-5, Annex 1, read on the endless repetition.
    """
    run_up = int(RUN_UP_S * rate_hz)
    extended = extend_loop(samples, run_up, _block_frames(rate_hz))
    power = (weight_k(extended, rate_hz)[run_up:] ** 2).sum(axis=1)
    frames = samples.shape[0]
    step = standards.BLOCK_STEP_S * rate_hz
    places = np.round(np.arange(int(LOOP_ROUNDS * frames / step)) * step).astype(int) % frames
    return gate_blocks(_average_blocks(power, places, rate_hz))


def measure_loop_level_db(samples: npt.NDArray[np.floating], rate_hz: int) -> float:
    """Measure a loop's K-weighted level without gates, for sounds of any softness; minus infinity for silence."""
    run_up = int(RUN_UP_S * rate_hz)
    power = float((weight_k(extend_loop(samples, run_up, 0), rate_hz)[run_up:] ** 2).sum(axis=1).mean())
    return _to_lufs(power) if power > 0 else -math.inf


def gate_blocks(block_power: npt.NDArray[np.float64]) -> float:
    """Average block powers above the absolute and the relative gate; LUFS, minus infinity if none is."""
    loud = block_power[block_power > _to_power(standards.ABSOLUTE_GATE_LUFS)]
    if loud.size == 0:
        return -math.inf
    gate = float(loud.mean()) * 10 ** (standards.RELATIVE_GATE_LU / 10)
    return _to_lufs(float(loud[loud > gate].mean()))


def _block_frames(rate_hz: int) -> int:
    """Length of a 400 ms block."""
    return int(round(standards.BLOCK_S * rate_hz))


def _average_blocks(
    power: npt.NDArray[np.float64], starts: npt.NDArray[np.int_], rate_hz: int
) -> npt.NDArray[np.float64]:
    """Mean power of the blocks that begin at ``starts``."""
    total = np.concatenate([[0.0], np.cumsum(power)])
    length = _block_frames(rate_hz)
    return np.asarray((total[starts + length] - total[starts]) / length)


def _to_power(lufs: float) -> float:
    return float(10 ** ((lufs - standards.LOUDNESS_OFFSET_DB) / 10))


def _to_lufs(power: float) -> float:
    return standards.LOUDNESS_OFFSET_DB + 10 * math.log10(power)
